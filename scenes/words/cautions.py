"""What would surprise at the throw: balance, slips of the file, throttle, channels."""

from __future__ import annotations

from firstthrow.scenes.flight.facts import Facts
from firstthrow.scenes.hands.bindings import key_words

OFF_PLAN = 0.25  # of full throttle: so far from the planned one is said before the throw


def cautions(facts: Facts, reading, mixed: bool) -> tuple[str, ...]:
    """What would surprise at the throw, a sentence each: a balance behind the neutral point, a
    slip in the file, a throttle far from the plan, a transmitter with `mixed` channels that sends
    no reflex."""
    found = []
    if facts.behind > 0.0:
        found.append(
            f"The CG is {facts.units.length(facts.behind)} BEHIND the neutral point: it will not "
            f"fly by itself. {key_words('bench')} opens the bench."
        )
    found += [f"A slip in the file? {words}" for words in facts.slips[:2]]
    share = reading.throttle
    if share > OFF_PLAN and abs(share - facts.launch_throttle) > OFF_PLAN:
        found.append(
            f"Throttle is about {10 * round(10 * share)} %, far from the planned "
            f"{100 * facts.launch_throttle:.0f} %."
        )
    if mixed and facts.reflex > 1.0:
        flat = [surface for surface in facts.surfaces if not surface.upright]
        asked = [-getattr(reading, f"surface_{s.name}_asked_deg") for s in flat]
        up = sum(asked) / max(1, len(asked))
        if up < 0.4 * facts.reflex:
            found.append(
                f"The transmitter sends no reflex: {up:.0f}° up, {facts.reflex:.0f}° is planned."
            )
    return tuple(found)
