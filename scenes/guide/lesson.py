"""A lesson: what the centre of gravity does to a flat plate. Read it, run it, change it."""

import firstthrow.sim as ft

PLACES = ("-60 mm", "-25 mm", "20 mm", "65 mm", "110 mm")  # of the pack, aft of the leading edge


def thrown(place: str):
    """The slab with its pack there: how it is balanced, and a throw that nobody steers."""
    slab = ft.airframe("pantry", **{"items.pack.aft": place})
    return ft.trim(slab), ft.fly(slab, pilot="hands-off", seconds=4.0)


def lesson() -> dict:
    """Prints a line for each place of the pack; gives the flights for a plot."""
    flights = {}
    print("pack at     CG       margin   stable   pitch, most")
    for place in PLACES:
        found, flight = thrown(place)
        margin = found.static_margin_percent
        print(
            f"{place:>7} {found.cg_percent_mac:6.1f} % {margin:8.1f} %   "
            f"{'yes' if margin > 0 else 'no':<6} {flight.pitch_deg.max():8.0f} deg"
        )
        flights[f"CG at {found.cg_percent_mac:.0f} %"] = flight
    return flights


if __name__ == "__main__":
    lesson()
