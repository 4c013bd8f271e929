"""One notebook in the browser: open it, run it, read it, look at it."""

import io
from pathlib import Path

from PIL import Image
from playwright.sync_api import Locator, Page

SCREEN = {"width": 1280, "height": 800}
# Safety nets for a busy machine, in ms; no test passes or fails by the time it takes.
OPEN_WAIT, RUN_WAIT, ACT_WAIT = 240_000, 240_000, 60_000
TALLEST, FITTINGS = 15_000, 8  # pixels; how often the window is fitted to the notebook at most
CONTROLS = {
    "button",
    "slider",
    "spinbutton",
    "textbox",
    "combobox",
    "checkbox",
    "radio",
    "listbox",
    "switch",
    "menuitem",
}
# JupyterLab's own lines at the console that say nothing about the course.
LABS_OWN = (
    "favicon",  # the page's icon, asked for before the server has one
)

_CURRENT = "window.jupyterapp.shell.currentWidget"
_READY = f"""name => {{
    const sheet = window.jupyterapp && {_CURRENT};
    return Boolean(sheet && sheet.context && sheet.context.path === name && sheet.context.isReady
        && sheet.sessionContext.isReady && sheet.sessionContext.session
        && sheet.sessionContext.session.kernel.status === 'idle');
}}"""
_RUN = """async () => { await window.jupyterapp.commands.execute('notebook:run-all-cells'); }"""
_RESTART = f"async () => {{ await {_CURRENT}.sessionContext.session.kernel.restart(); }}"
_SHOW = "async name => { await window.jupyterapp.commands.execute('docmanager:open', {path: name}); }"
# A kernel takes its messages in order, so it has taken in all that was sent before a question when it answers
# that question. Asked twice: a widget that changed while its last message was under way sends the newest state
# when that message is answered. A frame later the page has drawn what came back.
_SETTLED = f"""async wait => {{
    const kernel = {_CURRENT}.sessionContext.session.kernel;
    const late = new Promise((_, fail) => setTimeout(() => fail(new Error('the kernel did not answer')), wait));
    const asked = async () => {{
        for (let turn = 0; turn < 2; turn++) {{
            await kernel.requestKernelInfo();
            await new Promise(requestAnimationFrame);
        }}
    }};
    await Promise.race([asked(), late]);
}}"""
# No cell has moved or changed its size over two frames, and no widget is still being loaded (the first one in a tab
# waits for its program). When `all` cells are in sight, each of them is drawn.
_STILL = f"""async ([all, wait]) => {{
    const start = performance.now();
    const look = () => JSON.stringify({_CURRENT}.content.widgets.map(cell => {{
        const box = cell.node.getBoundingClientRect();
        return [box.left, box.top, box.width, box.height];
    }}));
    const isWidget = output => 'application/vnd.jupyter.widget-view+json' in output.data;
    const outputs = cell => Array.from({{length: cell.model.outputs.length}}, (_, at) => cell.model.outputs.get(at));
    const loading = () => {_CURRENT}.content.widgets.some(cell => cell.model.type === 'code' && !cell.isPlaceholder()
        && outputs(cell).filter(isWidget).length
            > cell.node.querySelectorAll('.jp-OutputArea-output > .jupyter-widgets').length);
    const undrawn = () => all && {_CURRENT}.content.widgets.some(cell => cell.isPlaceholder() || !cell.isAttached);
    for (let before = null, same = 0; same < 2; ) {{
        await new Promise(requestAnimationFrame);
        const now = look();
        same = now === before && !undrawn() && !loading() ? same + 1 : 0;
        before = now;
        if (performance.now() - start > wait) throw new Error('the page does not come to rest');
    }}
}}"""
_OUTPUTS = f"""() => {{
    const found = [];
    for (const cell of {_CURRENT}.content.widgets) {{
        if (cell.model.type !== 'code') continue;
        for (let at = 0; at < cell.model.outputs.length; at++) {{
            const output = cell.model.outputs.get(at).toJSON();
            found.push({{cell: cell.model.sharedModel.source.split('\\n')[0], output}});
        }}
    }}
    return found;
}}"""
# A slider has no name of its own in this widget library; it counts as named when a named number box works beside it.
_PAIRED = """element => {
    const row = element.closest('.widget-hbox, .widget-vbox, .widget-box');
    const box = row && row.querySelector('input[type=number], input[type=text]');
    return Boolean(box && ((box.labels && box.labels.length && box.labels[0].textContent.trim()) || box.ariaLabel));
}"""


class Sheet:
    """A notebook that is open in a page. `console` holds what the page complained about."""

    def __init__(self, page: Page, name: str):
        self.page, self.name, self.console = page, name, []
        page.set_default_timeout(ACT_WAIT)
        page.on("console", self._heard)
        page.on("pageerror", self._broke)

    def hear_no_more(self) -> None:
        """Leave what the page says from now on to the next notebook in it."""
        self.page.remove_listener("console", self._heard)
        self.page.remove_listener("pageerror", self._broke)

    def _broke(self, error) -> None:
        self.console.append(f"page error: {error}")

    def _heard(self, message) -> None:
        if message.type == "error" and not any(own in message.text for own in LABS_OWN):
            self.console.append(message.text)

    def open(self, url: str) -> None:
        self.page.goto(url)
        self.wait_ready()

    def wait_ready(self) -> None:
        """Wait until this notebook is in front and its kernel has nothing to do."""
        self.page.wait_for_function(_READY, arg=self.name, timeout=OPEN_WAIT)

    def show(self) -> None:
        """Bring this notebook to the front of a JupyterLab that is already there; open it if need be."""
        self.page.evaluate(_SHOW, self.name)
        self.wait_ready()

    def run_all(self) -> None:
        """Run every cell and wait until the last one is done and drawn."""
        self.page.evaluate(_RUN)
        self.page.wait_for_function(_READY, arg=self.name, timeout=RUN_WAIT)
        self.settle()
        self.still()

    def restart(self) -> None:
        """Start the kernel again and run every cell."""
        self.page.evaluate(_RESTART)
        self.wait_ready()
        self.run_all()

    def settle(self) -> None:
        """Wait until the kernel has taken in what was typed, pressed or chosen, and the page has drawn its answer."""
        self.page.evaluate(_SETTLED, RUN_WAIT)

    def still(self, every_cell: bool = False) -> None:
        """Wait until nothing in the notebook moves any more, and every cell is drawn if all are in sight."""
        self.page.evaluate(_STILL, [every_cell, ACT_WAIT])

    def outputs(self) -> list[dict]:
        return self.page.evaluate(_OUTPUTS)

    def errors(self) -> list[str]:
        """Return every error output and every line a cell wrote to stderr."""
        return [
            f"{found['cell']}: {found['output'].get('evalue') or found['output'].get('text')}"
            for found in self.outputs()
            if found["output"]["output_type"] == "error" or found["output"].get("name") == "stderr"
        ]

    @property
    def results(self) -> Locator:
        """The part of the page that the cells drew."""
        return self.page.locator(".jp-NotebookPanel:not(.lm-mod-hidden) .jp-Cell-outputArea")

    def text(self) -> str:
        return "\n".join(self.results.all_inner_texts())

    def accessible(self) -> list[dict]:
        """Return role, name and node of everything in the results that assistive technology meets. Spread first."""
        session = self.page.context.new_cdp_session(self.page)
        found = []
        for area in range(self.results.count()):
            script = f"document.querySelectorAll('.jp-NotebookPanel:not(.lm-mod-hidden) .jp-Cell-outputArea')[{area}]"
            root = session.send("Runtime.evaluate", {"expression": script})["result"]
            for node in session.send("Accessibility.queryAXTree", {"objectId": root["objectId"]})["nodes"]:
                if not node.get("ignored"):
                    name = node.get("name", {}).get("value", "").strip()
                    found.append(
                        {"role": node["role"]["value"], "name": name, "node": node.get("backendDOMNodeId")}
                    )
        session.detach()
        return found

    def nameless(self) -> list[str]:
        """Return the controls and pictures that have no name."""
        session = self.page.context.new_cdp_session(self.page)
        bad = []
        for part in self.accessible():
            if part["role"] in {*CONTROLS, "img", "image"} and not part["name"]:
                found = session.send("DOM.resolveNode", {"backendNodeId": part["node"]})["object"]
                asked = {"objectId": found["objectId"], "returnByValue": True}
                paired = session.send(
                    "Runtime.callFunctionOn",
                    {**asked, "functionDeclaration": f"function() {{ return ({_PAIRED})(this) }}"},
                )["result"]["value"]
                if not (part["role"] == "slider" and paired):
                    html = session.send(
                        "Runtime.callFunctionOn",
                        {
                            **asked,
                            "functionDeclaration": "function() { return this.outerHTML.slice(0, 120) }",
                        },
                    )["result"]["value"]
                    bad.append(f"{part['role']}: {html}")
        session.detach()
        return bad

    def clipped(self) -> list[str]:
        """Return labels and buttons whose words do not fit their box, and results wider than their place."""
        return self.page.evaluate("""() => {
            const root = document.querySelector('.jp-NotebookPanel:not(.lm-mod-hidden)');
            const bad = [];
            const marks = '.widget-label, .jupyter-button, .widget-button, select, .widget-toggle-button';
            for (const part of root.querySelectorAll(marks)) {
                if (part.offsetParent && part.scrollWidth > part.clientWidth + 1)
                    bad.push('does not fit: ' + part.textContent.trim().slice(0, 60));
            }
            const places = '.jp-OutputArea-output, .widget-html, .widget-html-content, .widget-box';
            for (const area of root.querySelectorAll(places)) {
                if (area.offsetParent && area.scrollWidth > area.clientWidth + 1)
                    bad.push('wider than the page: ' + area.textContent.trim().slice(0, 60));
            }
            return bad;
        }""")

    def fold_side_panel(self) -> None:
        """Fold away JupyterLab's list of files, as a person does on a narrow screen."""
        self.page.evaluate("() => window.jupyterapp.shell.collapseLeft()")

    def usual_screen(self) -> None:
        """Go back to the usual screen with the list of files beside the notebook."""
        self.page.set_viewport_size(SCREEN)
        self.page.evaluate("() => window.jupyterapp.shell.expandLeft()")
        self.still()

    def spread(self, width: int = SCREEN["width"]) -> int:
        """Make the window so tall that every cell is in sight, and return its height.

        JupyterLab leaves cells that are out of sight undrawn; they are then missing from pictures and from the
        accessibility tree, and take their true height only when drawn. So the window is fitted until it fits.
        """
        height = self.page.viewport_size["height"]
        self.page.set_viewport_size({"width": width, "height": height})
        self.still()
        for _ in range(FITTINGS):
            fitting = self._fitting_height()
            if fitting == height:
                break
            height = fitting
            self.page.set_viewport_size({"width": width, "height": height})
            self.still()
        self.still(every_cell=True)
        return height

    def _fitting_height(self) -> int:
        """Return how tall the window must be to hold the notebook as it is drawn now, from its top."""
        bottom = self.page.evaluate("""() => {
            const root = document.querySelector('.jp-NotebookPanel:not(.lm-mod-hidden)');
            root.querySelector('.jp-WindowedPanel-outer').scrollTop = 0;
            return [...root.querySelectorAll('.jp-Cell')].at(-1).getBoundingClientRect().bottom;
        }""")
        return min(max(int(bottom) + 40, SCREEN["height"]), TALLEST)

    def blank_screens(self) -> list[int]:
        """Return the tops of those screens of the whole notebook that show one colour only. The page is spread.

        JupyterLab's own bars beside the notebook are left out: they have colours on every screen. The pointer is
        moved into a corner: beside an output it would colour the bar that folds the output away.
        """
        height = self.spread()
        self.page.mouse.move(0, 0)
        self.still()
        box = self.page.locator(
            ".jp-NotebookPanel:not(.lm-mod-hidden) .jp-WindowedPanel-viewport"
        ).bounding_box()
        left, right = int(box["x"]) + 1, int(box["x"] + box["width"]) - 1
        with Image.open(io.BytesIO(self.page.screenshot())) as whole:
            assert whole.size == (SCREEN["width"], height), "the picture is not the whole notebook"
            return [
                top
                for top in screens(height)
                if not has_colours(whole.crop((left, top, right, top + SCREEN["height"])))
            ]

    def pictures(self, folder: Path) -> list[Path]:
        """Write the whole notebook as pictures, one screen each, and return their files."""
        folder.mkdir(parents=True, exist_ok=True)
        for old in folder.glob(f"{Path(self.name).stem}-*.png"):
            old.unlink()
        files = []
        for top in screens(self.spread()):
            file = folder / f"{Path(self.name).stem}-{len(files) + 1:02d}.png"
            self.page.screenshot(path=file, clip={"x": 0, "y": top, **SCREEN})
            files.append(file)
        return files


def screens(height: int) -> list[int]:
    """Return where each picture of a page `height` pixels tall begins.

    Every picture is one whole screen. The last one ends at the foot of the page, so it may show a part of the one
    before it once more: a page that is a few pixels over ten screens gives no picture a few pixels tall.
    """
    last = max(height - SCREEN["height"], 0)
    return [*range(0, last, SCREEN["height"]), last]


def has_colours(picture: Image.Image) -> bool:
    """Tell whether a picture has more than one colour in it."""
    return any(low != high for low, high in picture.convert("RGB").getextrema())
