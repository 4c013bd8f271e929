# ruff: noqa: E501  (a rule of a style sheet reads best on one line)
"""The style sheet of the panels, made from a look. It is text only; it holds nothing a person typed."""

from __future__ import annotations

from gaslab.show.palette import Look


def sheet(look: Look) -> str:
    """Return the style element that every panel carries.

    The slider is for the mouse: stock sliders have no name for a screen reader, so its handle
    is hidden from the keyboard and the reader, and only its painted grip is seen. The number box
    and the two buttons beside it do the same work and have names.
    """
    large = look.size > 2.0  # the classroom screen, where no text may be smaller than the rest
    text, small, high = (
        round(17 * look.size),
        round((17 if large else 15) * look.size),
        round(44 * max(1.0, look.size * 0.62)),
    )
    # On the classroom screen the controls take what a picture 1400 pixels wide leaves of 1920.
    side = 350 if large else 270
    alone = (
        ".jp-NotebookPanel .jp-InputPrompt, .jp-NotebookPanel .jp-OutputPrompt { display:none }\n"
        ".jp-NotebookPanel .jp-CodeCell .jp-Cell-inputWrapper { display:none }\n"
        # Controls too wide for the space beside the picture go under it; no choice is cut off.
        ".gl-panel .gl-side { min-width:min-content !important }\n"
        ".gl-panel .widget-dropdown select { max-width:none !important }\n"
        ".gl-panel .gl-panel { padding:0 !important; border:none !important }"
        if large
        else ""
    )
    dot = max(22, round(0.95 * text)) if large else 22  # what a radio button or a tick box measures across
    wide = round(260 * max(1.0, look.size * 0.6))
    return f"""<style>
.jp-NotebookPanel {{ --jp-layout-color0:{look.ground}; --jp-content-font-color0:{look.ink}; --jp-content-font-color1:{look.ink}; --jp-content-font-size1:{text}px; --jp-code-font-size:{small}px; --jp-cell-editor-background:{look.wash}; --jp-mirror-editor-comment-color:{look.quiet}; --jp-ui-font-color2:{look.quiet} }}
.jp-NotebookPanel .jp-RenderedHTMLCommon {{ font-family:Arial,'Liberation Sans',Helvetica,sans-serif; line-height:1.5 }}
.jp-NotebookPanel .jp-RenderedHTMLCommon p, .jp-NotebookPanel .jp-RenderedHTMLCommon li {{ max-width:75ch }}
.jp-NotebookPanel .jp-RenderedText pre {{ color:{look.ink}; line-height:1.5 }}
{alone}
.gl-panel {{ background:{look.ground}; color:{look.ink}; border:1px solid {look.grid}; border-radius:12px; padding:14px; max-width:{1880 if large else 1000}px; box-sizing:border-box; overflow:visible }}
.gl-panel, .gl-panel .widget-html-content, .gl-panel .widget-label, .gl-panel button, .gl-panel input, .gl-panel select, .gl-panel label {{
  font-family:Arial,'Liberation Sans',Helvetica,sans-serif !important; font-size:{text}px !important; line-height:1.5 !important; color:{look.ink}; letter-spacing:normal }}
.gl-panel .widget-html-content, .gl-panel .widget-html, .gl-panel .widget-label {{ white-space:normal !important; height:auto !important; overflow:visible !important; max-width:100% }}
.gl-panel .jupyter-widgets {{ max-width:100%; overflow:visible }}
.gl-body {{ display:flex !important; flex-wrap:wrap !important; gap:16px; align-items:flex-start }}
.gl-picture {{ flex:{"0 0 1400px" if large else "1 1 520px"}; min-width:{"1400px" if large else "min(340px, 100%)"}; margin:0 !important }}
.gl-side {{ flex:1 1 {side}px; min-width:min({side}px, 100%); max-width:{round(side * 1.5)}px }}
.gl-panel > .gl-side {{ flex:none; width:100%; max-width:100%; min-width:0 }}
.gl-side > button.jupyter-button {{ align-self:flex-start }}
.gl-panel h3 {{ font-size:{round(text * 1.15)}px; margin:0 0 6px; color:{look.ink} }}
.gl-panel p {{ margin:0 0 8px; max-width:{"none" if large else "62ch"} }}
.gl-quiet {{ color:{look.quiet}; font-size:{small}px }}
.gl-good, .gl-bad, .gl-doubt, .gl-plain {{ border-left:6px solid; padding:6px 10px; margin:4px 0; background:{look.card}; border-radius:4px; font-weight:700 }}
.gl-good {{ color:{look.good}; border-color:{look.good} }} .gl-bad {{ color:{look.bad}; border-color:{look.bad} }}
.gl-doubt {{ color:{look.doubt}; border-color:{look.doubt} }} .gl-plain {{ color:{look.ink}; border-color:{look.rule}; font-weight:400 }}
.gl-panel button.jupyter-button {{ min-height:{high}px; min-width:{high}px; height:auto; width:auto; padding:4px 18px; border-radius:8px; background:{look.card}; color:{look.ink}; border:2px solid {look.rule}; white-space:normal; overflow:visible; margin:4px 6px 4px 0; box-shadow:none }}
.gl-panel button.gl-main {{ background:{look.ink}; color:{look.ground}; border-color:{look.ink}; font-weight:700 }}
.gl-panel button.jupyter-button:disabled {{ opacity:1 !important; background:{look.wash}; color:{look.quiet}; border:2px dashed {look.rule}; cursor:not-allowed }}
.gl-panel button:focus-visible, .gl-panel input:focus-visible, .gl-panel select:focus-visible {{ outline:4px solid {look.water} !important; outline-offset:2px }}
.gl-panel .widget-text, .gl-panel .widget-dropdown, .gl-panel .widget-radio {{ flex-direction:column !important; align-items:flex-start !important; height:auto !important; width:100% !important; margin:2px 0 }}
.gl-panel .widget-text > label, .gl-panel .widget-dropdown > label, .gl-panel .widget-radio > label {{ width:auto !important; max-width:100%; text-align:left !important; font-weight:700; padding:0; margin:0 }}
.gl-panel .widget-text input, .gl-panel .widget-dropdown select {{ min-height:{high}px; height:{high}px !important; width:100% !important; max-width:{wide}px; background-color:{look.card} !important; color:{look.ink} !important; border:2px solid {look.rule} !important; border-radius:8px; padding:2px 10px; box-sizing:border-box; flex:none !important }}
.gl-panel .gl-wide input {{ max-width:100% !important }}
.gl-panel .widget-dropdown select {{ width:auto !important; min-width:min({wide}px, 100%); max-width:100%; padding-right:34px }}
.gl-panel input:disabled {{ opacity:1 !important }}
.gl-panel input::placeholder {{ color:{look.quiet}; opacity:1 }}
.gl-side .gl-panel {{ border:none; border-top:1px solid {look.grid}; border-radius:0; padding:10px 0 0; margin-top:8px }}
.gl-side .gl-picture {{ flex:1 1 340px; max-width:{round(460 * look.size)}px }}
.gl-side .gl-side {{ flex:1 1 {side}px; max-width:100% }}
.gl-stack > .gl-picture {{ flex:none; width:100%; min-width:0; margin-bottom:8px !important }}
.gl-panel .widget-radio-box {{ width:100%; height:auto; margin:0 }}
.gl-panel .widget-radio-box label {{ display:flex; align-items:flex-start; min-height:{round(high * 0.8)}px; height:auto; white-space:normal; padding:4px 0; margin:0; width:100% }}
.gl-panel .widget-radio-box input {{ min-width:{dot}px; width:{dot}px; height:{dot}px; margin:{max(3, round(0.75 * text - dot / 2))}px 10px 0 2px; flex:none; position:static; order:-1 }}
.gl-panel .widget-checkbox {{ width:100% !important; height:auto !important; margin:2px 0 }}
.gl-panel .widget-checkbox .widget-label-basic {{ display:flex !important; align-items:center; justify-content:flex-start; gap:10px; min-height:{round(high * 0.8)}px; width:100%; height:auto; white-space:normal; text-align:left; padding:2px 0; margin:0 }}
.gl-panel .widget-checkbox input {{ min-width:{dot}px; width:{dot}px; height:{dot}px; margin:0 0 0 2px; flex:none }}
.gl-panel .widget-checkbox .widget-label-basic span {{ text-align:left; flex:1 1 auto }}
.gl-number {{ border-top:1px solid {look.grid}; padding:6px 0 2px; margin:0 0 4px }}
.gl-steps {{ display:flex !important; align-items:center; gap:2px; width:100% }}
.gl-steps .widget-slider {{ flex:1 1 60px; min-width:60px; width:auto !important; margin:0 14px; height:{high}px; padding:0 }}
.gl-steps .slider-container {{ padding:0 !important; margin:0 !important; display:flex; align-items:center; height:100% }}
.gl-steps .noUi-target {{ width:100%; height:8px !important; background:{look.grid}; border:1px solid {look.rule} !important; border-radius:5px; box-shadow:none }}
.gl-steps .noUi-connect {{ background:{look.water} !important; visibility:visible }}
.gl-steps .noUi-handle {{ visibility:hidden; width:30px !important; height:30px !important; top:-12px !important; right:-15px !important; border:none; background:none }}
.gl-steps .noUi-handle::before, .gl-steps .noUi-handle::after {{ display:none }}
.gl-steps .noUi-touch-area {{ visibility:visible; width:30px; height:30px; border-radius:50%; background:{look.card}; border:4px solid {look.water}; box-sizing:border-box; cursor:grab }}
.gl-panel button.gl-less, .gl-panel button.gl-more {{ font-size:0 !important; padding:0; flex:none; margin:0 }}
.gl-less::before {{ content:"−" / ""; font-size:{round(text * 1.6)}px }} .gl-more::before {{ content:"+" / ""; font-size:{round(text * 1.6)}px }}
</style>"""
