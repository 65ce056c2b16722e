"""Charging room: generator, driving and hookup, hour by hour."""
