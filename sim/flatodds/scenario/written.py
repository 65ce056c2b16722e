"""The words a scenario file may hold, what each means, and what each accepts.

A field that is None was not written; `resolve` fills it in and says so. Numbers are in the
unit of the field's last word.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from flatodds.scenario.values import (
    DayText,
    Fraction,
    MonthsOfCelsius,
    MonthsOfFahrenheit,
    MonthsOfSun,
    MonthsOfWetDays,
    PlaceText,
    Text,
    UseText,
    WeatherFiles,
    WindowText,
)
from flatodds.scenario.written_arrays import (
    Horizon,
    Leaves,
    WrittenArray,
    WrittenController,
)
from flatodds.scenario.written_bank import WrittenBank as WrittenBank
from flatodds.scenario.written_base import Written as Written
from flatodds.scenario.written_charging import (
    Dates,
    EveryDays,
    WrittenDrive,
    WrittenGenerator,
    WrittenHookup,
)
from flatodds.scenario.written_cooling import Shade, WrittenCooling
from flatodds.scenario.written_decide import WrittenPrices, WrittenVariant
from flatodds.scenario.written_habits import WrittenHabits, WrittenUseHabits


class WrittenInverter(Written):
    """The inverter that makes mains voltage from the bank."""

    watts: float | None = Field(
        default=None,
        ge=0.0,
        le=100_000.0,
        description="Watts it gives all day in air of 25 Celsius, not VA; 0 for none.",
    )
    idle_w: float | None = Field(
        default=None,
        ge=0.0,
        le=1_000.0,
        description="What it draws when on with nothing plugged in.",
    )
    hours_on: float | None = Field(
        default=None, ge=0.0, le=24.0, description="Hours a day it is switched on, around 14:00."
    )
    surge_ratio: float | None = Field(
        default=None, ge=1.0, le=5.0, description="What it gives for seconds, over its watts."
    )
    half_load_efficiency_frac: float | None = Field(
        default=None,
        ge=0.5,
        le=0.995,
        description="Share of what it takes that comes out at half its watts.",
    )
    full_load_efficiency_frac: float | None = Field(
        default=None, ge=0.5, le=0.995, description="The same at all its watts."
    )
    heat_loss_frac_per_c: float | None = Field(
        default=None,
        ge=0.0,
        le=0.05,
        description="Share of its watts lost with each degree of the cabin above 25 Celsius.",
    )


class WrittenHousehold(WrittenHabits):
    """How the people live."""

    pattern: Literal["light", "medium", "heavy", "none"] = Field(
        description="Which appliances there are to start with; none: only those listed here."
    )
    reserve_frac: Fraction | None = Field(
        default=None, description="Charge below which you would not willingly go."
    )
    caution_frac: Fraction | None = Field(
        default=None, description="Charge below which whatever can wait is put off."
    )
    inside_day_c: float | None = Field(
        default=None, ge=5.0, le=35.0, description="Temperature kept by day, Celsius."
    )
    inside_day_f: float | None = Field(
        default=None, ge=41.0, le=95.0, description="Temperature kept by day, Fahrenheit."
    )
    inside_night_c: float | None = Field(
        default=None, ge=5.0, le=35.0, description="Temperature kept by night, Celsius."
    )
    inside_night_f: float | None = Field(
        default=None, ge=41.0, le=95.0, description="Temperature kept by night, Fahrenheit."
    )
    heat: Literal["gas furnace", "air heater", "none"] | None = Field(
        default=None,
        description="What heats; a gas furnace and a fuel-fired air heater need power for"
        " their fans.",
    )
    heat_output_w: float | None = Field(
        default=None, gt=0.0, le=50_000.0, description="Most heat it gives into the home."
    )
    comfort_high_c: float | None = Field(
        default=None, ge=20.0, le=45.0, description="Warmer than this is too hot, Celsius."
    )
    comfort_high_f: float | None = Field(
        default=None, ge=68.0, le=113.0, description="Warmer than this is too hot, Fahrenheit."
    )


class WrittenShell(Written):
    """Walls, windows and contents of the home; left out: as usual for its kind."""

    heat_loss_w_per_k: float | None = Field(
        default=None,
        ge=5.0,
        le=2_000.0,
        description="Heat lost for each degree warmer than outside.",
    )
    sun_aperture_m2: float | None = Field(
        default=None, ge=0.0, le=50.0, description="Window area that would let in as much sun heat."
    )
    heat_mass_j_per_k: float | None = Field(
        default=None, ge=1e4, le=1e9, description="Heat stored for each degree."
    )
    gains_w: float | None = Field(
        default=None, ge=0.0, le=5_000.0, description="Heat given off by people and appliances."
    )
    roof: Literal["light", "dark"] | None = Field(
        default=None, description="Colour of the roof, in place of sun_aperture_m2."
    )
    panels_over_roof_frac: Fraction | None = Field(
        default=None, description="With roof: share of it that panels shade."
    )
    shade: Shade | None = Field(
        default=None,
        description="What keeps the sun off the home: none, an awning, half shade, deep shade."
        " For the panels see shade_frac.",
    )


class WrittenAppliance(WrittenUseHabits):
    """One appliance: a name of the catalogue, or all of watts, minutes, times and window."""

    use: UseText | None = Field(
        default=None, description="Name in the catalogue (flatodds new --list appliances)."
    )
    name: Text | None = Field(
        default=None,
        description="Your name for it; the same name replaces the pattern's appliance.",
    )
    watts: float | None = Field(
        default=None, ge=0.0, le=50_000.0, description="Power while it runs, at its own plug."
    )
    side: Literal["dc", "ac"] | None = Field(
        default=None, description="On the battery's voltage (dc) or on mains voltage (ac)."
    )
    kind: Literal["uses", "steady"] | None = Field(
        default=None, description="Runs now and then (uses), or is always on (steady)."
    )
    minutes: float | None = Field(default=None, gt=0.0, le=1440.0, description="Length of one run.")
    times_a_day: float | None = Field(
        default=None,
        ge=0.0,
        le=100.0,
        description="Runs a day on average; 0 removes the appliance.",
    )
    times_a_day_weekend: float | None = Field(
        default=None, ge=0.0, le=100.0, description="Runs a day at weekends, where that differs."
    )
    times_sd: float | None = Field(
        default=None, ge=0.0, le=50.0, description="Spread of the runs a day (standard deviation)."
    )
    window: list[WindowText] | None = Field(
        default=None,
        min_length=1,
        max_length=4,
        description='Local hours in which a run lies, as in ["7-9", "17-19:30"].',
    )
    need: Literal["must", "can-wait", "spare-sun"] | None = Field(
        default=None, description="Runs regardless, waits for charge, or runs only on spare sun."
    )
    duty_frac: Fraction | None = Field(
        default=None, description="Share of the run during which it draws its watts."
    )
    surge_ratio: float | None = Field(
        default=None, ge=1.0, le=20.0, description="Starting power over running power."
    )
    medical: bool | None = Field(
        default=None, description="Whether someone's health depends on it."
    )
    label_kwh_year: float | None = Field(
        default=None,
        ge=150.0,
        le=3_000.0,
        description="Of a household fridge: the use in a year on its US label (closed, at 90 F).",
    )


class WrittenStay(Written):
    """One place, from a first day, for some nights."""

    name: Text | None = Field(default=None, description="What to call it; left out: the place.")
    place: PlaceText = Field(
        description='Coordinates, as in "44.95, -93.60", or a town: "Moab, UT",'
        ' "30 miles S of Moab, UT".'
    )
    elevation_m: float | None = Field(
        default=None, ge=-450.0, le=7_000.0, description="Height above the sea in metres."
    )
    elevation_ft: float | None = Field(
        default=None, ge=-1_476.0, le=22_966.0, description="Height above the sea in feet."
    )
    first_day: DayText = Field(description='Day of arrival without a year, as in "20 Sep".')
    nights: int = Field(ge=1, le=365, description="How many nights.")
    weather: WeatherFiles | None = Field(
        default=None,
        description='Weather files beside this one (one year, or several); "fetched": the real'
        ' years that `flatodds weather get` keeps nearest to the place; "fetched typical": the'
        " typical year it keeps; or a packaged sample.",
    )
    years: Literal["as they were", "shuffled", "invented"] | None = Field(
        default=None,
        description="How several real years are lived; left out: as they were from ten years on,"
        " shuffled from five, else invented.",
    )
    monthly_sun_kwh_m2: MonthsOfSun | None = Field(
        default=None,
        description="Without a file: mean sun on the level, January first, kWh per m2 and day.",
    )
    monthly_temp_c: MonthsOfCelsius | None = Field(
        default=None, description="Without a file: mean temperatures, January first, Celsius."
    )
    monthly_temp_f: MonthsOfFahrenheit | None = Field(
        default=None, description="Without a file: mean temperatures, January first, Fahrenheit."
    )
    monthly_wet_days: MonthsOfWetDays | None = Field(
        default=None,
        description="Days with rain or snow in each month, January first; left out: by how dull"
        " the month is.",
    )
    source: Literal["auto"] | None = Field(default=None, description="How weather is chosen.")
    arrival_charge_frac: Fraction | None = Field(
        default=None, description="Charge on arrival; left out: as the stay before left it."
    )
    home_shade: Shade | None = Field(
        default=None, description="Here instead of shell.shade: what keeps the sun off the home."
    )
    generator_hours: list[WindowText] | None = Field(
        default=None,
        max_length=4,
        description="Here instead of generator.hours; an empty list: no generator here.",
    )
    drive_every_days: EveryDays | None = Field(
        default=None, description="Here instead of drive.every_days; 0: no drives here."
    )
    drive_dates: Dates | None = Field(
        default=None, description="Here instead of drive.every_days or drive.dates."
    )
    hookup_every_days: EveryDays | None = Field(
        default=None, description="Here instead of hookup.every_days; 0: no hookup here."
    )
    hookup_dates: Dates | None = Field(
        default=None, description="Here instead of hookup.every_days or hookup.dates."
    )
    horizon_deg: Horizon | None = Field(
        default=None,
        description="Height of the horizon in degrees, at equal steps from north clockwise.",
    )
    tree_shade_frac: Fraction | None = Field(
        default=None, description="Sun that trees here take while in leaf; left out: no trees."
    )
    tree_sky_shade_frac: Fraction | None = Field(
        default=None, description="Light of the whole sky that they take."
    )
    bare_shade_frac: Fraction | None = Field(
        default=None, description="What they take without leaves, over what they take in leaf."
    )
    leaves: Leaves | None = Field(
        default=None, description='When they carry leaves, ["1 May", "20 Oct"]; left out: always.'
    )
    coldest_c: float | None = Field(
        default=None, ge=-60.0, le=30.0, description="Coldest air ever expected here, Celsius."
    )
    coldest_f: float | None = Field(
        default=None, ge=-76.0, le=86.0, description="Coldest air ever expected here, Fahrenheit."
    )


class WrittenUncertain(Written):
    """How far the estimates themselves may be off, as standard deviations."""

    sun_frac: float | None = Field(
        default=None,
        ge=0.0,
        le=0.5,
        description="Of the sun; left out: as the weather's source has it.",
    )
    use_frac: float | None = Field(
        default=None, ge=0.0, le=1.0, description="Of the household's use."
    )
    cold_gate_c: float | None = Field(
        default=None,
        ge=0.0,
        le=10.0,
        description="Of the temperatures at which a cold bank lets charge in, Celsius.",
    )


class WrittenScenario(Written):
    """One question to flatodds: a rig, a household, and where it stays when."""

    title: Text | None = Field(default=None, description="Name of the question; names the result.")
    home: Literal["trailer", "van", "cabin"] | None = Field(
        default=None, description="Kind of home."
    )
    units: Literal["us", "si"] | None = Field(
        default=None, description="Units in what is printed; left out: by the first place."
    )
    roof_m2: float | None = Field(
        default=None, gt=0.0, le=1_000.0, description="Roof that panels may cover, square metres."
    )
    bank: WrittenBank
    array: list[WrittenArray] = Field(min_length=1, max_length=16)
    controller: list[WrittenController] = Field(
        default=[WrittenController()], min_length=1, max_length=4
    )
    inverter: WrittenInverter = WrittenInverter()
    generator: WrittenGenerator | None = None
    drive: WrittenDrive | None = None
    hookup: WrittenHookup | None = None
    cooling: WrittenCooling | None = None
    household: WrittenHousehold
    shell: WrittenShell = WrittenShell()
    appliance: list[WrittenAppliance] = Field(default=[], max_length=60)
    stay: list[WrittenStay] = Field(min_length=1, max_length=40)
    uncertain: WrittenUncertain = WrittenUncertain()
    variant: list[WrittenVariant] = Field(default=[], max_length=100)
    prices: WrittenPrices = WrittenPrices()


LISTS = (
    "array",
    "controller",
    "appliance",
    "stay",
    "variant",
)  # tables that may be written once or several times
