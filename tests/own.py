"""Hands as they might have been measured, somewhat slower than a beginner's."""

from __future__ import annotations

from firstthrow.sim.study.hands.measure import Figure, Measured


def sure(value: float) -> Figure:
    return Figure(value, 0.9 * value, 1.1 * value)


FOUND = Measured(
    delay_s=sure(0.4),
    lag_s=sure(0.2),
    dead_zone_rad=sure(0.05),
    remnant=sure(0.3),
    remnant_time_s=sure(0.2),
    gain_pitch_per_rad=sure(0.6),
    gain_roll_per_rad=sure(0.5),
    lead_pitch_s=sure(0.1),
    lead_roll_s=sure(0.1),
    trimming_per_s=sure(0.2),
    crossover_pitch_rad_s=sure(1.5),
    crossover_roll_rad_s=sure(1.6),
    stick_speed_per_s=2.2,
    stick_is_limited=True,
    first_moves=9,
    wrong_moves=1,
    wrong_chance=Figure(0.15, 0.01, 0.4),
    wrong_for_s=0.4,
    explained_fraction=0.8,
)
