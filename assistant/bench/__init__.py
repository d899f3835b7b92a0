"""What stands on the bench: materials, belts, presses, templates, the job sheet."""
