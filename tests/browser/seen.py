"""What the browser in fact shows: colours as worked out, and text against what lies behind it."""

from __future__ import annotations

from sheet import Sheet

# For each piece of text in sight: its colour and the ground behind it, both after the cascade and after
# see-through layers are laid on one another. For text in a drawing, the ground is the shape painted under
# it, or the halo painted round its letters.
_CONTRAST = """least => {
    const parse = text => {
        const found = text.match(/[\\d.]+/g);
        return found && !text.startsWith('none') ? found.map(Number) : null;
    };
    const over = (top, under) => {
        const a = top.length > 3 ? top[3] : 1;
        return [0, 1, 2].map(n => top[n] * a + under[n] * (1 - a));
    };
    const light = colour => {
        const linear = c => c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
        const [r, g, b] = colour.map(c => linear(c / 255));
        return 0.2126 * r + 0.7152 * g + 0.0722 * b;
    };
    const grounds = start => {
        const layers = [];
        for (let at = start; at; at = at.parentElement) {
            const ground = parse(getComputedStyle(at).backgroundColor);
            if (ground) layers.push(ground);
        }
        return layers.reverse().reduce((under, layer) => over(layer, under), [255, 255, 255]);
    };
    const opacity = start => {
        let all = 1;
        for (let at = start; at; at = at.parentElement) all *= Number(getComputedStyle(at).opacity);
        return all;
    };
    // Painted earlier in the same drawing, so behind.
    const before = (one, text) => text.ownerSVGElement.contains(one)
        && Boolean(text.compareDocumentPosition(one) & Node.DOCUMENT_POSITION_PRECEDING);
    const under = text => {
        const box = text.getBoundingClientRect(), style = getComputedStyle(text);
        if (style.paintOrder.startsWith('stroke') && style.stroke !== 'none') return parse(style.stroke);
        const stack = document.elementsFromPoint(box.x + box.width / 2, box.y + box.height / 2);
        for (const at of stack.filter(one => before(one, text) && !one.closest('text'))) {
            const fill = at === text.ownerSVGElement ? null : parse(getComputedStyle(at).fill);
            if (fill && (fill.length < 4 || fill[3] > 0.99)) return fill;
        }
        return grounds(text.ownerSVGElement);
    };
    const bad = new Set();
    let seen = 0;
    const root = document.querySelector('.jp-NotebookPanel:not(.lm-mod-hidden) .jp-WindowedPanel-viewport');
    const walk = document.createTreeWalker(root, NodeFilter.SHOW_TEXT);
    while (walk.nextNode()) {
        const words = walk.currentNode.textContent.trim(), place = walk.currentNode.parentElement;
        if (!words || place.closest('style, title, desc, .jp-InputArea-prompt, .jp-OutputPrompt')) continue;
        const style = getComputedStyle(place), box = place.getBoundingClientRect();
        if (style.visibility === 'hidden' || style.fontSize === '0px' || !box.width || !box.height) continue;
        if (!place.closest('.jp-OutputArea-output, .jp-MarkdownOutput')) continue;
        const drawn = place.closest('text');
        const ground = drawn ? under(drawn) : grounds(place);
        let colour = parse(drawn ? style.fill : style.color);
        if (!colour) continue;
        colour = over([...colour.slice(0, 3), (colour[3] ?? 1) * opacity(place)], ground);
        const [one, two] = [light(colour), light(ground)];
        const ratio = (Math.max(one, two) + 0.05) / (Math.min(one, two) + 0.05);
        seen += 1;
        if (ratio < least) bad.add(`${ratio.toFixed(2)}: ${words.slice(0, 50)}`);
    }
    return {seen, bad: [...bad]};
}"""


def contrast_faults(sheet: Sheet, least: float) -> list[str]:
    """Return each text whose contrast with its ground is below `least`; fail when no text was found."""
    found = sheet.page.evaluate(_CONTRAST, least)
    assert found["seen"] > 40, "hardly any text was found, so nothing was checked"
    return found["bad"]
