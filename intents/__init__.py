"""Words to meaning. Pure: no clock, no disk beyond its own data files, no sound."""
