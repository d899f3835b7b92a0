"""The job: bench models, recipe, procedure, record, review and the session that joins them."""
