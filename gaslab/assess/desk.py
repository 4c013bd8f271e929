"""The assessor's own folder: where papers, kept questions and what came back lie, and what is never written twice.

papers/<paper number>/hand-out/<form>/   what a candidate may hold
papers/<paper number>/assessor/          key, guide, reports, secret, seals, changed marks: never handed out
papers/<paper number>/came-back/         put the attempt files here
papers/<paper number>/results/batch-1/   what marking gave; each time a new folder
questions/<family>.toml                  an assessor's own questions
"""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from pathlib import Path

from gaslab.assess import chain, exports, folders, guide, own_item, papers, qti, qti_names
from gaslab.assess.guide import Key, KeyFileError
from gaslab.assess.papers import Paper
from gaslab.assess.standard import Standard, StandardError
from gaslab.assess.variants import Bank, PaperError
from gaslab.learn import item_file
from gaslab.learn.family import Family
from gaslab.refit.folder import DAMAGED, LARGEST_FILE, set_aside_in_words, user_data_folder
from gaslab.refit.folder import write_new as new_file

PAPERS, QUESTIONS, CAME_BACK, RESULTS = "papers", "questions", "came-back", "results"
OVERRIDES, SEALS, STANDARD, SEATING = "changed-marks.jsonl", "seals.json", "standard.json", "seating.csv"
KEY = "key.json"
NEVER_HAND_OUT = "Never hand out the assessor folder. It holds the key and the secret."
SUPERVISED = (
    "The installed course can work out every answer. A paper that counts is sat under supervision, "
    "on paper or on a machine without the course."
)


def papers_folder() -> Path:
    """Return the folder of all papers of this user."""
    return user_data_folder() / PAPERS


def known_papers() -> dict[str, Path]:
    """Return paper number -> folder, the newest first."""
    place = papers_folder()
    found = [path.parent.parent for path in place.glob(f"*/{folders.ASSESSOR}/{KEY}")]
    return {path.name: path for path in sorted(found, key=lambda path: (-path.stat().st_mtime_ns, path.name))}


def assessor_file(paper_folder: Path, name: str) -> Path:
    """Return the place of one of the assessor's own files of a paper."""
    return Path(paper_folder) / folders.ASSESSOR / name


def write_new(path: Path, data: bytes) -> None:
    """Write a file that is not there yet; one that is there is never overwritten."""
    path.parent.mkdir(parents=True, exist_ok=True)
    try:
        new_file(path, data)
    except FileExistsError:
        raise PaperError(f"{path.name} is there already. Nothing was overwritten.") from None


def write_paper(paper: Paper, secret: bytes, candidates: Sequence[str] = ()) -> Path:
    """Write a paper into the user's folder with its question packages and its seating, and return its folder."""
    seats = papers.assigned(list(candidates), paper.plan, secret)  # a wrong candidate number stops it here
    own = kept_questions()
    folder = folders.write(paper, secret, papers_folder() / paper.number)
    for question in {question.family for question in paper.plan.questions} & set(own):
        write_new(assessor_file(folder, QUESTIONS) / f"{question}.toml", own[question].encode("utf-8"))
    for version in qti_names.VERSIONS:
        for form in paper.forms:
            data = qti.package(form.items, f"gaslab-{form.name}", version)
            write_new(assessor_file(folder, f"qti-{version}") / f"{form.name}.zip", data)
    if seats:
        columns = {"candidate": exports.TEXT, "form": exports.TEXT}
        write_new(assessor_file(folder, SEATING), exports.csv_bytes(columns, sorted(seats.items())))
    (folder / CAME_BACK).mkdir()
    return folder


def key_of_folder(paper_folder: Path) -> Key:
    """Return the key of a written paper, or raise KeyFileError."""
    try:
        data = assessor_file(paper_folder, KEY).read_bytes()
    except OSError as error:
        raise KeyFileError(f"The key cannot be opened ({error.strerror}). Choose the paper again.") from None
    return guide.read_key(data)


# An assessor's own questions


def kept_questions(folder: Path | None = None) -> dict[str, str]:
    """Return family -> text of every kept question file. Raises PaperError with the name of one that is damaged."""
    place = folder or user_data_folder() / QUESTIONS
    return {path.stem: _question(path)[0] for path in _question_files(place)}


def _question_files(place: Path) -> list[Path]:
    return sorted(path for path in place.glob("*.toml") if DAMAGED not in path.name)


def _question(path: Path) -> tuple[str, Family]:
    """Return the text of a question file and the family that it makes, or raise PaperError."""
    try:
        if path.stat().st_size > LARGEST_FILE:
            raise PaperError(f"The kept question {path.name} is far too large to be a question.")
        text = path.read_bytes().decode("utf-8")
        family = item_file.read_text(text, path.stem)
    except OSError as error:
        raise PaperError(f"The kept question {path.name} cannot be opened ({error.strerror}).") from None
    except UnicodeDecodeError:
        raise PaperError(f"The kept question {path.name} is not UTF-8 text.") from None
    except item_file.ItemFileError as error:
        raise PaperError(f"The kept question {path.name} cannot be read: {error}") from None
    try:
        Bank([family])
    except PaperError as error:  # a name that the course has taken since
        raise PaperError(f"The kept question {path.name} cannot be used: {error}") from None
    return text, family


def mend_questions() -> tuple[str, ...]:
    """Set aside each of the user's kept questions that is damaged, and return a sentence for each."""
    said = []
    for path in _question_files(user_data_folder() / QUESTIONS):
        try:
            _question(path)
        except PaperError as fault:
            said.append(set_aside_in_words(path, fault))
    return tuple(said)


def keep_question(text: str) -> Family:
    """Keep a question that passes the checker. A name that is taken is refused, so an old paper keeps its questions."""
    found = own_item.check(text)
    if found.family is None:
        raise PaperError(found.text)
    write_new(user_data_folder() / QUESTIONS / f"{found.family.id}.toml", text.encode("utf-8"))
    return found.family


def own_bank(paper_folder: Path | None = None) -> Bank:
    """Return the course's families with the kept ones; for a paper, with the ones that were kept beside it."""
    place = user_data_folder() if paper_folder is None else Path(paper_folder) / folders.ASSESSOR
    return Bank([_question(path)[1] for path in _question_files(place / QUESTIONS)])


# The standard of a paper


def keep_standard(paper_folder: Path, standard: Standard, ratings: Mapping[str, Sequence[float]]) -> None:
    """Keep the judges' ratings and the cut of a paper. A standard is set once."""
    kept = {
        "cut": standard.cut, "most": standard.most, "error": standard.error,
        "ratings": {judge: list(row) for judge, row in ratings.items()},
    }  # fmt: skip
    write_new(assessor_file(paper_folder, STANDARD), chain.json_bytes(kept))


def standard_of(paper_folder: Path) -> tuple[float, float] | None:
    """Return (cut, its standard error) of a paper, or None where none is set."""
    try:
        data = assessor_file(paper_folder, STANDARD).read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise StandardError(f"{STANDARD} of this paper cannot be opened ({error.strerror}).") from None
    try:
        kept = chain.strict_json(data, "the standard")
        if not all(type(kept[name]) in (int, float) for name in ("cut", "error")):
            raise TypeError("not numbers")
        if not all(0 <= kept[name] <= sys.float_info.max for name in ("cut", "error")):
            raise TypeError("not a number of marks")
        return float(kept["cut"]), float(kept["error"])
    except (chain.ChainError, KeyError, TypeError) as error:
        raise StandardError(f"{STANDARD}, the cut of this paper, cannot be read ({error}).") from None


def standard_or_words(paper_folder: Path) -> tuple[tuple[float, float] | None, str]:
    """Return (the standard, ""); a damaged one is set aside, and the words say so."""
    try:
        return standard_of(paper_folder), ""
    except StandardError as fault:
        return None, set_aside_in_words(assessor_file(paper_folder, STANDARD), fault)
