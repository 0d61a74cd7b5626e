"""The standard atmosphere at a height: pressure, temperature, density, viscosity, sound."""

from math import sqrt

from firstthrow.sim.units import GRAVITY

_R = 287.05287  # J/(kg K)
_LAPSE = 0.0065  # K/m
_T0, _P0 = 288.15, 101325.0
_HEATS = 1.4  # ratio of the specific heats


def pressure(height: float) -> float:
    """Pressure [Pa] at a geopotential height [m] below 11 km. Source: ISO 2533:1975."""
    return _P0 * (1.0 - _LAPSE * height / _T0) ** (GRAVITY / (_R * _LAPSE))


def standard_temperature(height: float) -> float:
    """Temperature [K] at a geopotential height [m]. Source: ISO 2533:1975."""
    return _T0 - _LAPSE * height


def density(height: float, temperature: float | None = None) -> float:
    """Density [kg/m3] at a height [m]; the standard temperature unless one is given [K]."""
    warmth = standard_temperature(height) if temperature is None else temperature
    return pressure(height) / (_R * warmth)


def viscosity(temperature: float) -> float:
    """Dynamic viscosity [Pa s] of air at a temperature [K]. Source: ISO 2533 (Sutherland)."""
    return 1.458e-6 * temperature**1.5 / (temperature + 110.4)


def sound_speed(temperature: float = _T0) -> float:
    """Speed of sound [m/s] in air at a temperature [K]. Source: ISO 2533:1975."""
    return sqrt(_HEATS * _R * temperature)
