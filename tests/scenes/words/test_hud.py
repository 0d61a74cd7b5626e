"""What the instruments say."""

from __future__ import annotations

import math
from collections import namedtuple
from itertools import combinations

import pytest
from bodies import called_otherwise, shipped

from firstthrow.scenes.hands.bindings import BINDINGS, help_lines, key_words
from firstthrow.scenes.words import instruments
from firstthrow.scenes.words.cautions import cautions
from firstthrow.sim.build.controller import Burden
from firstthrow.sim.build.shape import surface_spans
from firstthrow.sim.flight.outcome import Ending, Outcome
from firstthrow.sim.flight.record import PLAIN_COLUMNS

SPANS = surface_spans(shipped("pantry"))
SURFACES = [span.name for span in SPANS]
ENDS = ("surface_{}_deg", "surface_{}_asked_deg", "servo_{}_load")
EXTRA = [end.format(name) for end in ENDS for name in SURFACES]
Reading = namedtuple("Reading", (*PLAIN_COLUMNS, *EXTRA))
FACTS = instruments.Facts("slab", "hand", ("motor",), SPANS, 1300.0, 9.9, 0.45)


def reading(**known) -> Reading:
    steady = {
        "airspeed_m_s": 9.0,
        "stall_speed_m_s": 6.0,
        "alpha_deg": 6.4,
        "height_m": 12.4,
        "pack_V": 11.8,
        "pack_A": 8.2,
        "pack_used_mAh": 132.0,
        "throttle": 0.62,
        "north_m": 30.0,
        "east_m": 40.0,
        "climb_m_s": 0.8,
    }
    values = dict.fromkeys(Reading._fields, 0.0) | steady | known
    return Reading(**values)


def test_every_text_can_be_read():
    for ink, ground in instruments.TEXT_PAIRS:
        assert instruments.contrast(ink, ground) >= 4.5
    assert instruments.contrast((255, 255, 255), (0, 0, 0)) == pytest.approx(21.0)


@pytest.mark.parametrize("scale", instruments.SCALES)
@pytest.mark.parametrize("size", [(800, 500), (1280, 720), (1920, 1080)])
def test_tags_stand_inside_the_window_and_apart(size, scale):
    places = instruments.layout(size[0], instruments.fitted(*size, scale))
    assert set(places) == set(instruments.TAGS)
    middle = instruments.Rect(0.5 * size[0] - 100, 0.45 * size[1], 200, 0.4 * size[1])
    if size[0] >= 1280:  # where the airframe is
        assert not any(place.overlaps(middle) for place in places.values())
    for place in places.values():
        assert place.x >= 0.0
        assert place.y >= 0.0
        assert place.x + place.width <= size[0]
        assert place.y + place.height <= size[1]
    assert not any(a.overlaps(b) for a, b in combinations(places.values(), 2))
    assert instruments.fitted(1280, 720, scale) > 0.98 * scale  # text of twice the size does fit


def test_tags_say_the_flight():
    tags = instruments.tags(reading(), FACTS, True, "keyboard")
    assert tags["air"] == (
        "Airspeed",
        "9.0 m/s",
        ("3.0 above its stall", "angle of attack 6°"),
        False,
    )
    assert tags["height"].big == "12 m"
    assert tags["height"].small == ("climbs 0.8 m/s", "50 m from launch")
    assert tags["power"].big == "62 %"
    assert tags["power"].small == ("11.8 V   8 A", "used 132 of 1300 mAh")
    assert tags["sticks"].small == ("high rates",)


def test_alarms_change_words_and_not_only_colour():
    slow = instruments.air_tag(reading(airspeed_m_s=5.0), True)
    stalled = instruments.air_tag(reading(separated_fraction=0.9), True)
    low = instruments.power_tag(reading(pack_V=9.5), FACTS)
    for tag in (slow, stalled, low):
        assert tag.alarm
        assert ":" in tag.title
    assert slow.small[0] == "1.0 below its stall"
    assert not instruments.air_tag(reading(airspeed_m_s=0.0), False).alarm


@pytest.mark.parametrize(
    ("degrees", "words"),
    [(-6.2, "left elevon 6° up"), (11.0, "left elevon 11° down"), (0.3, "left elevon 0°")],
)
def test_surfaces_are_told_by_their_trailing_edge(degrees, words):
    assert instruments.surface_words(SPANS[0], degrees) == words
    told = instruments.tags(reading(surface_elevon_left_deg=degrees), FACTS, True, "keyboard")
    assert told["surfaces"].small[0] == words


def told(airframe, name: str, degrees: float) -> str:
    span = next(span for span in surface_spans(airframe) if span.name == name)
    return instruments.surface_words(span, degrees)


def test_a_trailing_edge_goes_sideways_on_an_upright_sheet_whatever_the_surface_is_called():
    tree = shipped("allotment")
    assert told(tree, "rudder", 5.0) == "rudder 5° left"
    (fin,) = (name for name, sheet in tree.sheets.items() if "rudder" in sheet.surfaces)
    assert told(called_otherwise(tree, fin, "rudder", "tip"), "tip", -5.0) == "tip 5° right"
    v = called_otherwise(tree, "tailplane", "elevator", "ruddervator", role="ruddervator")
    assert told(v, "ruddervator_left", -6.0) == "left ruddervator 6° up"
    assert told(v, "ruddervator_right", 6.0) == "right ruddervator 6° down"


def test_warnings_come_when_they_are_due_and_not_before():
    assert instruments.warnings(reading(), FACTS, True) == ()
    assert instruments.warnings(reading(airspeed_m_s=6.5), FACTS, True) == (
        "slow: close to the stall",
    )
    assert instruments.warnings(reading(airspeed_m_s=6.7), FACTS, True) == ()
    assert instruments.warnings(reading(airspeed_m_s=6.5), FACTS, False) == ()
    assert "STALLED" in instruments.warnings(reading(separated_fraction=0.8), FACTS, True)[0]
    assert "90 %" in instruments.warnings(reading(bending_fraction=0.9), FACTS, True)[0]
    blown = instruments.warnings(reading(servo_elevon_left_load=-1.0), FACTS, True)
    assert blown == ("left elevon: servo held by the air",)


def test_cards_tell_the_keys_of_the_table():
    start = instruments.start_card(FACTS, scripted=False)
    assert key_words("release") in " ".join(start.lines)
    assert "45 %" in " ".join(start.lines)
    assert "people behind you" in " ".join(start.small)
    judged = instruments.start_card(FACTS, False, judged=("Go: nothing forbids it.",))
    assert "Go: nothing forbids it." in judged.lines
    slip = FACTS._replace(slips=("items.pack.mass = 110000 g: kg for g?",))
    told = cautions(slip, reading(), False)
    assert told == ("A slip in the file? items.pack.mass = 110000 g: kg for g?",)
    ended = Outcome(Ending.PROPELLER_STRIKE, "The propeller hit.")
    card = instruments.outcome_card(ended, 3.21, 7.6)
    assert card.title == "Propeller strike"
    assert card.alarm
    assert card.lines[0] == "The propeller hit."
    assert "3.2 s" in card.lines[1]
    assert card.lines[-1].startswith(key_words("again"))


def test_the_help_page_is_the_whole_table():
    page = "\n".join(instruments.help_card().lines)
    for key, words in help_lines():
        assert key in page
        assert words in page
    assert len(instruments.help_card().lines) == len(BINDINGS)


@pytest.mark.parametrize(
    ("mode", "left", "right"),
    [
        (1, (0.3, -0.2), (0.5, 0.6)),
        (2, (0.3, 0.6), (0.5, -0.2)),
        (3, (0.5, -0.2), (0.3, 0.6)),
        (4, (0.5, 0.6), (0.3, -0.2)),
    ],
)
def test_the_four_stick_modes(mode, left, right):
    shown = instruments.stick_squares(mode, roll=0.5, pitch=0.2, yaw=0.3, throttle=0.8)
    assert shown[0] == pytest.approx(left)
    assert shown[1] == pytest.approx(right)


def test_scale_stops_at_its_ends():
    assert instruments.next_scale(2.0, 1) == 2.0
    assert instruments.next_scale(1.0, 1) == 1.25
    assert instruments.next_scale(0.8, -1) == 0.8


def test_long_words_wrap():
    text = "The wing folded at n = 7.4, two seconds into a dive that began with a stall"
    lines = instruments.wrapped(text, 30)
    assert " ".join(lines) == text
    assert max(map(len, lines)) <= 30


def test_a_surface_that_gives_way_is_named_with_its_share():
    held = {"surface_elevon_left_asked_deg": -15.0, "surface_elevon_left_deg": -9.0}
    told = instruments.warnings(reading(**held, servo_elevon_left_load=0.97), FACTS, True)
    assert "left elevon blown back to 60 %" in told
    fast = {"surface_elevon_left_asked_deg": -15.0, "surface_elevon_left_deg": -14.6}
    told = instruments.warnings(reading(**fast, servo_elevon_left_load=0.97), FACTS, True)
    assert "left elevon: servo held by the air" in told
    assert instruments.warnings(reading(**held, servo_elevon_left_load=0.4), FACTS, True) == ()


def test_supply_and_receiver_are_warned_of():
    facts = FACTS._replace(supply_V=5.0)
    assert instruments.warnings(reading(supply_V=5.0), facts, True) == ()
    assert "servo supply sags to 4.2 V" in instruments.warnings(reading(supply_V=4.2), facts, True)
    told = instruments.warnings(reading(supply_V=3.0), facts, True, asleep=True)
    assert told[0].startswith("RECEIVER RESTARTING")
    assert not any("sags" in line for line in told)


def test_a_controller_over_its_rating_is_warned_of_before_it_gives_up():
    over = Burden("motor", 56.4, 45.0, 4.3, False)
    told = instruments.warnings(reading(), FACTS, True, burdens=(over,))
    assert told == ("controller at 56 of 45 A: cuts out in 4 s, less throttle",)
    for calm in (over._replace(lasts=60.0), over._replace(current=40.0, lasts=math.inf)):
        assert instruments.warnings(reading(), FACTS, True, burdens=(calm,)) == ()
    dead = over._replace(current=0.0, lasts=math.inf, dead=True)
    told = instruments.warnings(reading(), FACTS, True, burdens=(dead,))
    assert told == ("CONTROLLER HAS CUT OUT: no thrust until it lands",)
    pair = over._replace(motor="left_motor", lasts=math.inf), dead._replace(motor="right_motor")
    told = instruments.warnings(reading(), FACTS, True, burdens=pair)
    assert told == ("CONTROLLER OF THE RIGHT MOTOR HAS CUT OUT",)


def test_trims_and_servo_load_are_shown():
    tags = instruments.tags(
        reading(servo_elevon_right_load=-0.42), FACTS, True, "keyboard", (-0.02, 0.04)
    )
    assert tags["surfaces"].title == "Surfaces   servo load 42 %"
    assert tags["sticks"].small == ("high rates, trim 4% up 2% left",)


def test_what_would_surprise_is_said_before_the_throw():
    facts = FACTS._replace(reflex=5.0, launch_throttle=0.7)
    names = [surface.name for surface in facts.surfaces if not surface.upright]
    flat = {f"surface_{name}_asked_deg": -0.2 for name in names}
    up = {f"surface_{name}_asked_deg": -5.0 for name in names}
    assert cautions(facts, reading(throttle=0.0, **up), True) == ()
    assert "no reflex" in cautions(facts, reading(throttle=0.7, **flat), True)[0]
    assert cautions(facts, reading(throttle=0.7, **flat), False) == ()
    far = cautions(facts, reading(throttle=0.33, **up), True)
    assert "about 30 %" in far[0]
    assert "70 %" in far[0]
    aft = cautions(facts._replace(behind=0.012), reading(throttle=0.7, **up), False)
    assert "12 mm BEHIND" in aft[0]
    card = instruments.start_card(facts, False, "", aft)
    assert card.alarm
    assert aft[0] in card.lines
