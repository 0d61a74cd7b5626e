"""The guided assignment, led through by a simulated person with odd devices."""

from __future__ import annotations

from math import radians

import pytest
from bodies import called_otherwise, shipped

from firstthrow.scenes.hands.assignment import Guide, channel_steps
from firstthrow.scenes.hands.hands import load_hands
from firstthrow.scenes.hands.profiles import load_profile, path_of, save_profile, text_of
from firstthrow.sim.build.sticks import Sticks, mixer
from firstthrow.sim.build.straight import servos
from firstthrow.sim.describe.config import ConfigError

FRAME = 1.0 / 60.0


class Person:
    """Moves a device of so many axes as the guide asks; each axis has its own ends and middle."""

    def __init__(self, guide: Guide, ends: list[tuple[float, float, float]]):
        self.guide, self.ends = guide, ends  # (low, middle, high) as the device reads
        self.axes = [middle for _, middle, _ in ends]

    def wait(self, seconds: float = 0.1, pressed=()) -> None:
        for k in range(max(1, round(seconds / FRAME))):
            self.guide.see(FRAME, self.axes, list(pressed) if k == 0 else [])

    def sweep(self, axes) -> None:
        for k in axes:
            low, middle, high = self.ends[k]
            for place in (low, high, middle):
                self.axes[k] = place
                self.wait(0.05)

    def push(self, k: int, high: bool, back: bool = True) -> None:
        before = self.guide.at
        self.axes[k] = self.ends[k][2 if high else 0]
        for _ in range(120):
            self.wait(FRAME)
            if self.guide.at > before:
                break
        assert self.guide.at == before + 1, self.guide.told
        if back:
            self.axes[k] = self.ends[k][1]
        self.wait(0.1)


STICKS = [
    (-0.8, 0.02, 0.7),
    (-1.0, 0.0, 1.0),
    (-1.0, -1.0, 1.0),
    (-1.0, 0.0, 1.0),
    (-1.0, -1.0, 1.0),
]


def start(guide: Guide, ends) -> Person:
    """Through rest, sweep and centre."""
    person = Person(guide, ends)
    person.wait()
    guide.go()
    person.sweep(range(len(ends)))
    assert guide.told == f"{len(ends)} of {len(ends)} axes have moved"
    guide.go()
    person.wait(0.5)
    guide.go()
    assert guide.step.target == "throttle"
    person.wait()
    return person


def assigned() -> Guide:
    """A transmitter: roll axis 0, pitch 1 inverted, throttle 2, yaw 3, a switch on 4."""
    guide = Guide()
    person = start(guide, STICKS)
    person.push(2, True, back=False)
    person.push(0, True)
    person.push(1, False)
    person.push(3, True)
    person.wait(pressed=(7,))
    guide.skip()
    person.axes[4] = 1.0
    person.wait()
    guide.finish()
    return guide


def test_a_transmitter_is_assigned_with_its_own_ends_and_directions():
    hands = assigned().hands("radio")
    assert (hands.roll.index, hands.pitch.index, hands.throttle.index, hands.yaw.index) == (
        0,
        1,
        2,
        3,
    )
    assert (hands.roll.low, hands.roll.centre, hands.roll.high) == (-0.8, 0.02, 0.7)
    assert hands.pitch.invert
    assert not hands.roll.invert
    assert not hands.throttle_spring
    assert hands.throttle.rests_at == "none"
    assert hands.buttons == {"release": 7}
    assert hands.switches["low_rates"].index == 4
    assert hands.switches["low_rates"].above


def test_a_throttle_that_springs_back_is_noticed():
    guide = Guide()
    person = start(guide, [(-1.0, 0.0, 1.0)] * 4)
    person.push(1, False)
    assert guide.sprung
    assert guide.axes["throttle"].invert
    assert guide.axes["throttle"].dead_zone >= 0.1


def test_a_stick_that_trembles_gets_a_wider_dead_zone():
    guide = Guide()
    person = Person(guide, [(-1.0, 0.0, 1.0), (-1.0, 0.0, 1.0), (-1.0, -1.0, 1.0)])
    person.wait()
    guide.go()
    person.sweep(range(3))
    guide.go()
    for k in range(30):
        person.axes[0] = 0.04 * (-1) ** k
        person.wait(FRAME)
    person.axes[0] = 0.0
    person.wait(FRAME)
    guide.go()
    person.wait()
    person.push(2, True, back=False)
    person.push(0, True)
    person.push(1, True)
    assert guide.axes["roll"].dead_zone == pytest.approx(0.17, abs=0.01)
    assert guide.axes["pitch"].dead_zone == pytest.approx(0.01)


def test_two_axes_pushed_at_once_are_not_taken_for_one():
    guide = Guide()
    person = start(guide, STICKS)
    person.axes[2], person.axes[0] = 1.0, 0.7
    person.wait(2.0)
    assert guide.step.target == "throttle"
    assert guide.told != "hold it"
    person.axes[0] = 0.02
    person.wait(1.0)
    assert guide.step.target == "roll"


def test_nothing_is_assigned_without_sweeping_or_by_enter_alone():
    guide = Guide()
    person = Person(guide, STICKS)
    person.wait()
    guide.go()
    guide.go()
    assert guide.step.kind == "sweep"
    assert "fewer than two" in guide.told
    person.sweep(range(5))
    guide.go()
    person.wait()
    guide.go()
    guide.go()
    assert guide.step.target == "throttle"
    guide.skip()
    assert guide.told == "this one is needed"
    with pytest.raises(ValueError, match="not through"):
        guide.hands("radio")


def test_mixed_channels_of_elevons_are_found_in_the_corners():
    """Stick back and left: the left elevon's channel alone leaves its middle."""
    guide = Guide(servos(shipped("pantry")))
    reflex = 0.1  # both channels stand a little off the middle, and a middle it is not
    person = start(guide, [(-1.0, reflex, 1.0), (-1.0, -reflex, 1.0), (-1.0, -1.0, 1.0)])
    person.push(2, True, back=False)
    assert "corner" in guide.step.prompt
    person.push(0, True)
    person.push(1, False)
    guide.finish()
    hands = guide.hands("radio")
    assert hands.sends == "channels"
    assert hands.channel_moves == (("elevon_left",), ("elevon_right",))
    assert (hands.roll.centre, hands.roll.low, hands.roll.high) == (0.0, -1.0, 1.0)
    assert hands.pitch.invert
    assert hands.yaw is None


def prompts(airframe) -> list[str]:
    return [step.prompt for step in channel_steps(servos(airframe))]


CORNERS = [
    "Hold the stick back AND to the left, the corner: the LEFT {} goes up.",
    "Hold the stick back AND to the right, the corner: the RIGHT {} goes up.",
]


def test_a_channel_is_asked_for_by_the_surface_s_role_whatever_it_is_called():
    pantry = shipped("pantry")
    assert prompts(pantry) == [words.format("ELEVON") for words in CORNERS]
    flaps = called_otherwise(pantry, "slab", "elevon", "flap")
    assert prompts(flaps) == [words.format("FLAP") for words in CORNERS]
    ailerons = called_otherwise(pantry, "slab", "elevon", "tip", role="aileron")
    assert prompts(ailerons) == [
        "Hold the stick to the left: the LEFT TIP goes up.",
        "Hold the stick to the right: the RIGHT TIP goes up.",
    ]
    assert prompts(shipped("allotment")) == [
        "Hold the stick back: the LEFT ELEVATOR goes up.",
        "Hold the rudder stick to the right: the RUDDER goes right.",
    ]


@pytest.mark.parametrize(
    ("degrees", "sides"), [(40.0, ("right", "left")), (-40.0, ("left", "right"))]
)
def test_a_v_tail_is_asked_for_with_both_sticks_as_it_stands(degrees, sides):
    """Nose right, the force on the tail to the left: the left panel of an upright V goes up."""
    tree = shipped("allotment")
    tail = called_otherwise(
        tree, "tailplane", "elevator", "ruddervator", role="ruddervator", joined=False
    )
    leaning = tail.sheets["tailplane"].model_copy(update={"dihedral": radians(degrees)})
    v = tail.model_copy(update={"sheets": {"wing": tree.sheets["wing"], "tailplane": leaning}})
    assert prompts(v) == [
        f"Hold the stick back AND the rudder stick to the {way}: the {side} RUDDERVATOR goes up."
        for way, side in zip(sides, ("LEFT", "RIGHT"), strict=True)
    ]
    mix = mixer(v)
    for slot, way in enumerate(sides):
        moved = mix.angles(Sticks(yaw=1.0 if way == "right" else -1.0))[slot]
        assert moved < mix.angles(Sticks())[slot]  # trailing edge up


@pytest.fixture
def own_folder(tmp_path, monkeypatch):
    monkeypatch.setattr("platformdirs.user_config_path", lambda *a, **k: tmp_path / "settings")
    return tmp_path / "settings" / "hands"


def test_a_profile_is_kept_for_its_device_and_read_back(own_folder):
    hands = assigned().hands("Some Radio")
    assert load_profile("Some Radio", "0300abcd") is None
    path = save_profile(hands, "Some Radio", "0300abcd")
    assert path.parent == own_folder
    assert load_profile("Some Radio", "0300abcd") == hands
    assert load_profile("Some Radio", "0300ffff") is None
    assert list(own_folder.iterdir()) == [path]
    assert path_of("../../etc", "x/y").parent == own_folder


def test_a_profile_edited_wrongly_says_where(own_folder):
    path = save_profile(assigned().hands("Radio"), "Radio", "1")
    path.write_text(path.read_text().replace('dead_zone = "1 %"', 'dead_zone = "much"', 1))
    with pytest.raises(ConfigError, match=r"radio-1\.toml:\d+"):
        load_profile("Radio", "1")


def test_every_shipped_layout_survives_the_writing(own_folder, tmp_path):
    for name in ("gamepad-mode-2", "transmitter", "keyboard"):
        hands = load_hands(name)
        (tmp_path / "kept.toml").write_text(text_of(hands))
        assert load_hands(tmp_path / "kept.toml") == hands
