"""A simulated press and a scripted technician, for the demo and for practice."""
