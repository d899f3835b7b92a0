"""For the supervisor: verify, plain words, report."""
