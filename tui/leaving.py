"""What is told of the record to whoever leaves: what is on disk, what is not, and how to go on."""

from __future__ import annotations

from assistant.view import View

NOTHING_LOST = "nothing is lost; start again and this job is taken up where it stands."


def of_the_record(view: View) -> str:
    """One sentence, begun in a small letter."""
    if not view.unrecorded:
        return NOTHING_LOST
    if view.finished:
        return "it has no seal yet; make room or mend the disk, then start again, and it is sealed."
    return (
        "what came after it could not be written is not in it; make room or mend the disk, then start again, "
        "and this job is taken up where the record ends."
    )
