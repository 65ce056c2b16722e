"""How much of the global irradiance is diffuse."""

from __future__ import annotations

from flatodds.lanes import inlined


@inlined
def erbs_driesse(clearness: float) -> float:
    """Diffuse fraction for an hourly clearness index in 0 to 1.

    The Erbs-Driesse model: Driesse, Jensen and Perez, "A continuous form of the Perez
    diffuse sky model for forward and reverse transposition", Solar Energy 267 (2024),
    doi 10.1016/j.solener.2023.112093, a smooth form of Erbs, Klein and Duffie, Solar
    Energy 28 (1982). Coefficients as `pvlib.irradiance.erbs_driesse` documents them.

    Parameters
    ----------
    clearness : float32 or float64
        Global horizontal over extraterrestrial horizontal irradiance, clipped to 0..1.

    Returns
    -------
    float of the same type
        Diffuse over global horizontal irradiance.
    """
    f = type(clearness)
    k = clearness
    middle = f(12.26911439571261) * k - f(16.470508424697304)
    middle = middle * k + f(4.246926715218317)
    middle = middle * k - f(0.11390583806313881)
    middle = middle * k + f(0.946296633571001)
    dull = f(1.0) - f(0.09) * k
    fraction = middle if k > f(0.216) else dull
    return f(0.165) if k > f(0.792) else fraction
