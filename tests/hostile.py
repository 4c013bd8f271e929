"""Texts that attack whoever shows, stores or reads them: used against every door of the assessor's desk."""

import io
import zipfile

HOSTILE = {
    "script": "<script>window.hit=1</script>",
    "image": '<img src=x onerror="window.hit=1">',
    "svg": "<svg/onload=window.hit=1>",
    "attribute": '" onmouseover="window.hit=1" x="',
    "closing": "</style></section><script>window.hit=1</script>",
    "link": '<a href="javascript:window.hit=1">x</a>',
    "markdown": "[x](javascript:window.hit=1)",
    "tex": r"$\href{javascript:window.hit=1}{x}$",
    "cdata": "]]><x/>",
    "entity": "&lt;script&gt;&#0;&bomb;",
    "doctype": '<!DOCTYPE a [<!ENTITY b "c">]>',
    "formula": "=HYPERLINK(1)",
    "wide formula": "＝1+1",
    "tab formula": "\t=1+1",
    "command": "-1+cmd|' /C calc'!A0",
    "path": "../../../etc/passwd",
    "drive": "C:\\Windows\\x",
    "reserved": "CON",
    "null": "21\x00.5",
    "bell": "\x07\x1b[31m21",
    "vertical tab": "2\x0b1",
    "surrogate": "\ud800",
    "not a character": "\uffff",
    "right to left": "\u202e5.12\u202c",
    "isolate": "\u2067abc\u2069",
    "zero width": "2\u200b1",
    "byte order mark": "\ufeff21",
    "full width": "２１．５",
    "long": "9" * 150,
    "lines": "1\r\n2\u20283\u20294\x85",
    "quote": "'\"`;--",
    "template": "{{7*7}}${7*7}<%=7*7%>",
    "format": "%s%n{0.__class__}",
    "nan": "nan",
    "infinity": "1e999",
    "expression": "9**9**9**9",
    "call": "__import__('os').system('x')",
    "emoji": "🔥" * 20,
    "combining": "2" + "\u0301" * 60,
}


def zipped(**files: bytes) -> bytes:
    """Return an archive that holds these files."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return out.getvalue()
