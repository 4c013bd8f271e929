"""The assessor's seals: made once when attempts come in, and checked whenever a mark is asked about."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path

from gaslab.assess import chain
from gaslab.assess.attempt_reader import HandedIn, RefusedAttempt
from gaslab.refit.folder import write_new

KIND = "gaslab seals"


class SealError(ValueError):
    """Seals that cannot be made or read, told in one sentence."""


def seal_all(found: Iterable[HandedIn | RefusedAttempt], secret: bytes, out: Path) -> int:
    """Write the seal and the receipt of every attempt into a new file, and return how many."""
    made = {}
    paper = ""
    for attempt in found:
        if isinstance(attempt, HandedIn):
            paper = attempt.paper
            seal = chain.seal(secret, attempt.paper, attempt.candidate, attempt.last_link)
            made[attempt.candidate] = {"receipt": attempt.receipt, "seal": seal, "file": attempt.file}
    try:
        write_new(Path(out), chain.json_bytes({"kind": KIND, "paper": paper, "seals": made}))
    except FileExistsError:
        raise SealError("The seals of this batch were made already. They are never written again.") from None
    return len(made)


def read(path: Path) -> Mapping[str, Mapping[str, str]]:
    """Return candidate -> {receipt, seal, file}, or raise SealError."""
    try:
        found = chain.strict_json(Path(path).read_bytes(), "the file of seals")
        if found["kind"] != KIND or not all(
            set(one) == {"receipt", "seal", "file"} for one in found["seals"].values()
        ):
            raise SealError("This is not a file of seals that gaslab made.")
        return found["seals"]
    except (chain.ChainError, KeyError, TypeError, AttributeError) as error:
        raise SealError(f"The file of seals cannot be read ({type(error).__name__}). Use a copy.") from None


def broken(
    found: Iterable[HandedIn | RefusedAttempt], secret: bytes, seals: Mapping[str, Mapping[str, str]]
) -> tuple[str, ...]:
    """Return a sentence for each attempt that is not the one that was sealed, and for each that is gone."""
    said, seen = [], set()
    for attempt in found:
        if isinstance(attempt, RefusedAttempt):
            said.append(attempt.reason)
            continue
        seen.add(attempt.candidate)
        kept = seals.get(attempt.candidate)
        if kept is None:
            said.append(f"{attempt.file}: candidate {attempt.candidate} has no seal. It came in later.")
        elif not chain.seal_holds(kept["seal"], secret, attempt.paper, attempt.candidate, attempt.last_link):
            said.append(
                f"{attempt.file}: this is not the attempt that was sealed. Its receipt was {kept['receipt']}."
            )
    said += [f"The attempt of {candidate} was sealed and is gone." for candidate in sorted(set(seals) - seen)]
    return tuple(said)


def receipts_differ(
    found: Iterable[HandedIn | RefusedAttempt], register: Mapping[str, str]
) -> tuple[str, ...]:
    """Return a sentence for each attempt whose receipt code is not the one written down at hand-in.

    `register` is candidate -> code as copied by hand.
    """
    said = []
    for attempt in found:
        if isinstance(attempt, HandedIn):
            written = register.get(attempt.candidate)
            if written is None:
                said.append(f"{attempt.file}: no receipt code was written down for {attempt.candidate}.")
            elif not chain.same_receipt(written, attempt.receipt):
                said.append(
                    f"{attempt.file}: the code written down is not {attempt.receipt}. Ask before you mark it."
                )
    return tuple(said)
