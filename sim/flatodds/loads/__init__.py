"""Loads room: what the household wants, hour by hour: appliances, cabin, inverter."""
