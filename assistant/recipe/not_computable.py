"""What the small computations raise when there is no sound answer."""


class NotComputable(ValueError):  # noqa: N818 - a refusal with its reason, not a fault
    """Its text is one sentence for the technician: what cannot be, and what to do."""
