"""Charging room: generator, driving and hookup; empty until a scenario can name one."""
