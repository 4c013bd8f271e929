"""Names for sliders.

The slider of the widget library has no name that a screen reader can speak. A short script,
shown once in each page, gives every slider the words of its own label. Without it the pages
still work: each slider has a named number box beside it.
"""

SCRIPT = """(() => {
  const name = () => document.querySelectorAll('.gaslab-panel .gaslab-slider').forEach(box => {
    const handle = box.querySelector('[role=slider]'), label = box.querySelector('.widget-label');
    if (handle && label && handle.getAttribute('aria-label') !== label.textContent)
      handle.setAttribute('aria-label', label.textContent);
  });
  if (window.gaslabNames) return;
  window.gaslabNames = new MutationObserver(name);
  window.gaslabNames.observe(document.body, {childList: true, subtree: true});
  name();
})();"""


class NameSliders:
    """Shown by a page when it wakes up; plain viewers see nothing."""

    def _repr_mimebundle_(self, include=None, exclude=None) -> dict:
        return {"application/javascript": SCRIPT, "text/plain": ""}
