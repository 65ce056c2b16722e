"""The commands people type: arguments in, words out, no formulas."""
