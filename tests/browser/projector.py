"""What a wall shows, measured in the browser: how large each text is drawn, on what ground, and what is cut off."""

from playwright.sync_api import Locator

# Every visible text in a panel with the size it is drawn at [pixels], its colour and the ground under it.
TEXTS = """panel => {
    const found = [];
    const see = colour => {
        const parts = (colour.match(/[\\d.]+/g) || []).map(Number);
        return parts.length < 3 || (parts.length > 3 && parts[3] === 0) ? null : parts.slice(0, 3);
    };
    const groundOfPage = element => {
        for (let at = element; at; at = at.parentElement) {
            const colour = see(getComputedStyle(at).backgroundColor);
            if (colour) return colour;
        }
        return [255, 255, 255];
    };
    const holds = (shape, x, y) => {
        const box = shape.getBoundingClientRect();
        if (x < box.left || x > box.right || y < box.top || y > box.bottom) return false;
        const point = new DOMPoint(x, y).matrixTransform(shape.getScreenCTM().inverse());
        return shape.isPointInFill(point);
    };
    // The shape drawn last before the text, under the middle of the text, is its ground.
    const groundOfDrawing = (text, box) => {
        const x = (box.left + box.right) / 2, y = (box.top + box.bottom) / 2;
        let colour = null;
        for (const shape of text.ownerSVGElement.querySelectorAll('rect, circle, ellipse, path, polygon')) {
            if (!(shape.compareDocumentPosition(text) & Node.DOCUMENT_POSITION_FOLLOWING)) break;
            const style = getComputedStyle(shape), fill = style.fill === 'none' ? null : see(style.fill);
            if (fill && style.fillOpacity > 0.9 && style.opacity > 0.9 && holds(shape, x, y)) colour = fill;
        }
        return colour || groundOfPage(text.ownerSVGElement);
    };
    const add = (element, words, box, size, colour, ground) => {
        if (box.width < 1 || box.height < 1) return;
        found.push({words, size, colour: see(colour), ground,
            box: {left: box.left, right: box.right, top: box.top, bottom: box.bottom}});
    };
    for (const text of panel.querySelectorAll('svg text')) {
        if (!text.textContent.trim()) continue;
        const style = getComputedStyle(text), scale = Math.hypot(text.getScreenCTM().a, text.getScreenCTM().b);
        const box = text.getBoundingClientRect();
        const size = parseFloat(style.fontSize) * scale;
        add(text, text.textContent.trim(), box, size, style.fill, groundOfDrawing(text, box));
    }
    const walker = document.createTreeWalker(panel, NodeFilter.SHOW_TEXT);
    while (walker.nextNode()) {
        const words = walker.currentNode.textContent.trim(), holder = walker.currentNode.parentElement;
        const passed = 'svg, style, select, button.gl-less, button.gl-more';
        if (!words || !holder.offsetParent || holder.closest(passed)) continue;
        const range = document.createRange();
        range.selectNodeContents(walker.currentNode);
        const style = getComputedStyle(holder);
        const size = parseFloat(style.fontSize);
        add(holder, words, range.getBoundingClientRect(), size, style.color, groundOfPage(holder));
    }
    for (const box of panel.querySelectorAll('input[type=text], input[type=password], select')) {
        if (!box.offsetParent) continue;
        const style = getComputedStyle(box);
        const words = box.tagName === 'SELECT' ? box.selectedOptions[0].textContent : (box.value || box.placeholder);
        add(box, words, box.getBoundingClientRect(), parseFloat(style.fontSize), style.color, groundOfPage(box));
    }
    return found;
}"""
# Texts that reach out of their panel or their drawing, and boxes whose words do not fit.
CUT = """panel => {
    const bad = [], edge = panel.getBoundingClientRect();
    const out = (box, frame) => box.width > 1 && (box.left < frame.left - 1 || box.right > frame.right + 1
        || box.top < frame.top - 1 || box.bottom > frame.bottom + 1);
    // A long table stands in a box of its own that scrolls by mouse and by keyboard: nothing in it is lost.
    const scrolled = part => {
        const box = part.closest('[tabindex="0"]');
        return Boolean(box && box !== part && getComputedStyle(box).overflowX === 'auto'
            && !out(box.getBoundingClientRect(), edge));
    };
    for (const drawing of panel.querySelectorAll('svg')) {
        const frame = drawing.getBoundingClientRect();
        if (out(frame, edge)) bad.push('a drawing reaches out of its panel');
        for (const text of drawing.querySelectorAll('text'))
            if (out(text.getBoundingClientRect(), frame)) bad.push('out of its drawing: ' + text.textContent);
    }
    const pen = document.createElement('canvas').getContext('2d');
    for (const box of panel.querySelectorAll('input[type=text]')) {
        if (!box.offsetParent) continue;
        const style = getComputedStyle(box), words = box.value || box.placeholder;
        pen.font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
        const room = box.clientWidth - parseFloat(style.paddingLeft) - parseFloat(style.paddingRight);
        if (pen.measureText(words).width > room) bad.push('does not fit its box: ' + words);
    }
    for (const box of panel.querySelectorAll('select')) {
        if (!box.offsetParent) continue;
        // A list as wide as it would be with nothing to hold it back shows its longest choice whole.
        const free = box.cloneNode(true);
        box.parentElement.appendChild(free);
        free.style.cssText = 'position:absolute; visibility:hidden; min-width:0 !important; max-width:none !important';
        const wanted = free.offsetWidth;
        free.remove();
        if (box.offsetWidth < wanted - 1) bad.push('a choice does not fit: ' + box.selectedOptions[0].textContent);
    }
    for (const part of panel.querySelectorAll('button, select, .widget-label, label, p, h3, td, input[type=text]')) {
        if (!part.offsetParent || scrolled(part)) continue;
        const words = part.textContent.trim().slice(0, 60), bare = part.tagName === 'INPUT';
        if (out(part.getBoundingClientRect(), edge)) bad.push('out of its panel: ' + words);
        if (!bare && part.scrollWidth > part.clientWidth + 1 && part.clientWidth) bad.push('does not fit: ' + words);
    }
    return bad;
}"""


def texts(panel: Locator) -> list[dict]:
    """Return every text of a panel: words, size [pixels], colour, ground, box."""
    return panel.evaluate(TEXTS)


def cut(panel: Locator) -> list[str]:
    """Return what is cut off in a panel."""
    return panel.evaluate(CUT)


def hexadecimal(colour: list[float]) -> str:
    """Return a colour of three parts as "#RRGGBB".

    >>> hexadecimal([0, 80, 138])
    '#00508a'
    """
    return "#" + "".join(f"{round(part):02x}" for part in colour)
