"""What is true of things as sold, each value with its source, and one reader for it all."""

from flatodds.catalog.panels import PanelKind, panels
from flatodds.catalog.reader import (
    Appliance,
    Chemistry,
    Home,
    Pattern,
    PatternUse,
    appliances,
    chemistries,
    homes,
    patterns,
)
from flatodds.catalog.windows import Window, parse_window, window_text

__all__ = [
    "Appliance",
    "Chemistry",
    "Home",
    "PanelKind",
    "Pattern",
    "PatternUse",
    "Window",
    "appliances",
    "chemistries",
    "homes",
    "panels",
    "parse_window",
    "patterns",
    "window_text",
]
