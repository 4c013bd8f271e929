"""A paper written out: one folder to hand out, one to keep, and nothing overwritten."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path

from gaslab.assess import chain, guide, leaks, pack, parity
from gaslab.assess.papers import Form, Paper
from gaslab.assess.variants import PaperError

HAND_OUT, ASSESSOR, SECRET = "hand-out", "assessor", "secret.txt"


def pack_files(paper: Paper, form: Form) -> dict[str, bytes]:
    """Return the files of one trainee's pack."""
    plan = paper.plan
    return {
        pack.JSON_NAME: form.json(paper.number, plan),
        pack.HTML_NAME: pack.paper_html(
            paper.number, form.name, plan.title, plan.date, form.items, readings=form.readings
        ),
    }


def assessor_files(paper: Paper, secret: bytes, found: dict[str, tuple[leaks.Leak, ...]]) -> dict[str, bytes]:
    """Return the files that an assessor keeps."""
    key = guide.key_of(paper)
    rows = parity.report(paper)
    return {
        "key.json": guide.key_json(key),
        "marking-guide.html": guide.guide_html(key),
        "parity.csv": parity.report_csv(rows),
        "parity.txt": "\n".join((*parity.sentences(rows), "")).encode("utf-8"),
        "leaks.json": chain.json_bytes({name: [str(leak) for leak in each] for name, each in found.items()}),
        SECRET: secret.hex().encode("ascii") + b"\n",
    }


def write(paper: Paper, secret: bytes, folder: Path) -> Path:
    """Write the whole paper into a new folder, and return it. A pack with a leak is never written."""
    folder = Path(folder)
    packs = {form.name: pack_files(paper, form) for form in paper.forms}
    found = {form.name: leaks.search(packs[form.name], form.items, secret) for form in paper.forms}
    bad = [str(leak) for each in found.values() for leak in each]
    if bad:
        raise PaperError(f"The pack would give something away, so nothing is written. {bad[0]}")
    try:
        folder.mkdir(parents=True)
    except FileExistsError:
        raise PaperError(
            f"The folder {folder.name} is there already. Choose a new one; nothing was overwritten."
        ) from None
    (folder / ".gitignore").write_text("*\n", encoding="ascii")
    for name, files in packs.items():
        _write_all(folder / HAND_OUT / name, files)
    _write_all(folder / ASSESSOR, assessor_files(paper, secret, found))
    return folder


def _write_all(folder: Path, files: Mapping[str, bytes]) -> None:
    folder.mkdir(parents=True)
    for name, data in files.items():
        mode = 0o600 if name in (SECRET, "key.json") else 0o644
        with os.fdopen(os.open(folder / name, os.O_CREAT | os.O_EXCL | os.O_WRONLY, mode), "wb") as file:
            file.write(data)


def read_secret(folder: Path) -> bytes:
    """Return the assessor's secret of a written paper, or raise PaperError."""
    try:
        return bytes.fromhex((Path(folder) / ASSESSOR / SECRET).read_text(encoding="ascii").strip())
    except (OSError, ValueError):
        raise PaperError(
            "The assessor's secret cannot be read. It stands in the paper's assessor folder."
        ) from None
