"""What stands behind a question: its source, and the source and status of the limit that it is held against."""

from __future__ import annotations

from gaslab import tables
from gaslab.learn.variant import Limit, Variant
from gaslab.refit.limits import GIVEN_WORDS


def question_words(variant: Variant) -> str:
    """Return where a question comes from. It is the same for all its numbers, so it gives no answer away."""
    return f"Where this question comes from: {tables.sources()[variant.source].named}."


def limit_words(limit: Limit) -> str:
    """Return where a question's limit comes from and how sure it is, in the words of page 00."""
    status = GIVEN_WORDS if limit.status == "given" else tables.STATUS_WORDS[limit.status]
    if limit.source == "practice":  # a source row for what has no source
        return f"The limit is {status}."
    return f"The limit comes from: {tables.sources()[limit.source].named}. It is {status}."
