"""One file a sub-command; each holds `command` and imports what it needs only when it runs."""
