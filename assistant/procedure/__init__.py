"""The job step by step: data, gates, decide, evolve, reply. Pure."""
