"""Run every notebook anew, with an empty data folder, and store only the plain text that its cells show.

    python3 gaslab/course.py stamp [05 06 ...]

What a widget draws is not stored: a shipped page shows its sentence of plain text, and nbval compares that.
"""

import os
import sys
import tempfile
from pathlib import Path

import nbformat
from nbclient import NotebookClient

ROOT = Path(__file__).resolve().parent.parent
# A widget's view belongs to the kernel that made it, so it is dropped; nothing else may stand beside the text.
DROPPED = {"application/vnd.jupyter.widget-view+json"}
KEPT = {"text/plain"}


class StampError(ValueError):
    """A cell that shows something a shipped notebook cannot keep."""


def plain_outputs(outputs: list, cell: str) -> list:
    """Return a cell's outputs as plain text only; neighbouring pieces of printed text are joined.

    >>> plain_outputs([{"output_type": "stream", "name": "stderr", "text": "hm"}], "# x")
    Traceback (most recent call last):
    stamp.StampError: # x: writes to stderr: 'hm'
    """
    kept: list = []
    for output in outputs:
        if output["output_type"] == "stream":
            if output["name"] != "stdout":
                raise StampError(f"{cell}: writes to {output['name']}: {output['text'][:80]!r}")
            if kept and kept[-1]["output_type"] == "stream":
                kept[-1]["text"] += output["text"]
                continue
            kept.append(output)
        elif output["output_type"] in ("display_data", "execute_result"):
            others = set(output["data"]) - KEPT - DROPPED
            if others or "text/plain" not in output["data"]:
                raise StampError(f"{cell}: shows {', '.join(sorted(others)) or 'no plain text'}")
            output["data"] = {"text/plain": output["data"]["text/plain"]}
            output["metadata"] = {}
            kept.append(output)
        else:
            raise StampError(f"{cell}: {output['output_type']}")
    return kept


def stamp(path: Path) -> bool:
    """Run one notebook and store its plain text. Return True when the file changed."""
    book = nbformat.read(path, as_version=4)
    with tempfile.TemporaryDirectory() as home:
        os.environ["GASLAB_HOME"] = home
        NotebookClient(
            book, timeout=300, kernel_name="python3", resources={"metadata": {"path": str(path.parent)}},
            store_widget_state=False, record_timing=False,
        ).execute()  # fmt: skip
    for cell in book.cells:
        if cell.cell_type == "code":
            cell.outputs = plain_outputs(cell.outputs, cell.source.splitlines()[0])
            cell.metadata.pop("execution", None)
    book.metadata["language_info"] = {"name": "python"}
    book.metadata.pop("widgets", None)
    nbformat.validate(book)
    before = path.read_text(encoding="utf-8")
    after = nbformat.writes(book) + "\n"
    if after != before:
        path.write_text(after, encoding="utf-8", newline="\n")
    return after != before


def main(numbers: list[str]) -> int:
    failed = 0
    for path in sorted((ROOT / "notebooks").glob("*.ipynb")):
        if not numbers or path.name[:2] in numbers:
            try:
                print(f"{path.name}: {'stored anew' if stamp(path) else 'unchanged'}", flush=True)
            except Exception as error:  # each notebook is told of; the run goes on and ends as failed
                failed += 1
                print(f"{path.name}: NOT stored: {error}", flush=True)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
