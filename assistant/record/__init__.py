"""The log on disk: append, chain, lock, resume, recipe book."""
