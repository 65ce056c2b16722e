"""What every saved variable is: its unit in CF/UDUNITS spelling, its long name, its cell method."""

from __future__ import annotations

from typing import NamedTuple

from flatodds.units import unit_of


class Label(NamedTuple):
    """Attributes of one variable of the Dataset."""

    units: str
    long_name: str
    cell_methods: str


def period_sum(units: str, long_name: str) -> Label:
    """Label a sum over the nights of one stay in one month."""
    return Label(units, long_name, "period: sum")


SUMS: dict[str, Label] = {
    "hours_flat": period_sum("h", "hours in which must-have demand was refused, bank flat"),
    "nights_flat": period_sum("1", "nights, noon to noon, with a flat hour"),
    "energy_not_served_wh": period_sum("W h", "must-have energy not served"),
    "demand_wh": period_sum("W h", "energy asked for at the bank"),
    "served_wh": period_sum("W h", "energy served at the bank"),
    "array_wh": period_sum("W h", "energy taken in from the panels"),
    "spilled_wh": period_sum("W h", "panel energy the controller turned away"),
    "bank_loss_wh": period_sum("W h", "energy lost in the bank"),
    "gone_without_wh": period_sum("W h", "can-wait energy given up"),
    "spare_served_wh": period_sum("W h", "spare-sun energy served"),
    "hours_reserve": period_sum("h", "hours below the household's reserve"),
    "saved_wh": period_sum("W h", "comfort use given up to economise"),
    "hours_overload": period_sum("h", "hours in which inverter or bank is overloaded, not flat"),
    "cold_hours": period_sum("h", "hours colder than 10 degC inside"),
    "hot_hours": period_sum("h", "hours hotter inside than the household's comfort"),
    "hot_hours_uncooled": period_sum("h", "such hours, were there no air conditioner"),
    "cooling_hours": period_sum("h", "hours the air conditioner ran"),
    "cooling_wanted_wh": period_sum("W h", "energy at its plug that holding would have taken"),
    "cooling_served_wh": period_sum("W h", "energy the air conditioner got at its plug"),
    "hot_days_uncooled": period_sum("day", "days with a hot hour, were there no air conditioner"),
    "days_held": period_sum("day", "of those, days without a hot hour"),
    "cold_locked_wh": period_sum("W h", "panel energy refused because the bank was too cold"),
    "spilled_clip_wh": period_sum("W h", "panel energy beyond the controllers' limits"),
    "spilled_rate_wh": period_sum("W h", "panel energy beyond the bank's charge current"),
    "spilled_full_wh": period_sum("W h", "panel energy left over as the bank was full or nearly"),
    "full_days": period_sum("day", "days on which the bank became truly full"),
    "discharge_ah": period_sum("A h", "charge drawn from the bank"),
    "heating_pad_wh": period_sum("W h", "energy of the bank's heating pad"),
    "generator_wh": period_sum("W h", "energy taken from the generator's charger"),
    "generator_hours": period_sum("h", "hours the generator ran"),
    "generator_starts": period_sum("1", "times the generator was started"),
    "fuel_l": period_sum("litre", "fuel the generator burnt"),
    "drive_wh": period_sum("W h", "energy taken while driving"),
    "hookup_wh": period_sum("W h", "energy taken from the pedestal, loads and battery"),
    "days": period_sum("day", "days of the stay in the month"),
}

EXTREMES: dict[str, Label] = {
    "min_charge_frac": Label("1", "lowest state of charge", "stay: minimum"),
    "first_flat_day": Label(
        "1", "day of the stay, from 1, on which the bank first ran flat; infinite if never", ""
    ),
    "best_day_wh": Label("W h", "most panel energy taken in on one day", "stay: maximum"),
    "peak_array_w": Label("W", "highest hourly mean panel power", "stay: maximum"),
    "peak_bank_a": Label("A", "highest current drawn from the bank", "stay: maximum"),
    "start_ah": Label("A h", "charge at the start of the stay", "stay: point"),
    "end_ah": Label("A h", "charge at the end of the stay", "stay: point"),
    "longest_days_since_full": Label("day", "longest time since truly full", "stay: maximum"),
}

DAILY_PREFIX = "daily_"  # keeps the days apart from period sums of the same name
DAILY: dict[str, Label] = {
    "array_wh": Label("W h", "panel energy taken in, as estimated", "day: sum"),
    "demand_wh": Label("W h", "energy asked for, as estimated", "day: sum"),
    "min_charge_frac": Label("1", "lowest state of charge, as estimated", "day: minimum"),
    "max_charge_frac": Label("1", "highest state of charge, as estimated", "day: maximum"),
    "dawn_charge_frac": Label("1", "state of charge at dawn, as estimated", "day: point"),
    "generator_h": Label("h", "hours the generator ran, as estimated", "day: sum"),
}

PLUGS: dict[str, Label] = {
    "appliance_wanted_wh": Label("W h", "energy wanted at the plug, as estimated", "stay: sum"),
    "appliance_served_wh": Label("W h", "energy served at the plug, as estimated", "stay: sum"),
    "appliance_shifted_wh": Label(
        "W h", "energy served at the plug later than asked for, as estimated", "stay: sum"
    ),
    "appliance_gone_without_wh": Label(
        "W h", "energy gone without at the plug, as estimated", "stay: sum"
    ),
    "appliance_served_economised_wh": Label(
        "W h", "energy served at the plug, economised", "stay: sum"
    ),
    "appliance_shifted_economised_wh": Label(
        "W h", "energy served at the plug later than asked for, economised", "stay: sum"
    ),
    "appliance_gone_without_economised_wh": Label(
        "W h", "energy gone without or given up at the plug, economised", "stay: sum"
    ),
}


def attributes(label: Label) -> dict[str, str]:
    """Turn a label into CF attributes, leaving out an empty cell method."""
    found = {"units": label.units, "long_name": label.long_name}
    if label.cell_methods:
        found["cell_methods"] = label.cell_methods
    return found


def label_of(labels: dict[str, Label], key: str) -> Label:
    """Label of a variable; one without an entry is told by its own name."""
    return labels.get(key) or Label(unit_of(key) or "1", key.replace("_", " "), "")
