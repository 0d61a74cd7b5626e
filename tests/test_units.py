"""Units: factors against the handbook, no others in the sources, the refusals word for word."""

import ast
import math
import tomllib
from pathlib import Path
from random import Random

import numpy as np
import pytest

from firstthrow.sim import units
from firstthrow.sim.kernels import gusts
from firstthrow.sim.units import from_unit, read, read_propeller, to_unit

FACTORS = tomllib.loads((Path(__file__).parent / "references" / "units.toml").read_text())["factor"]


@pytest.mark.parametrize("row", FACTORS, ids=lambda row: row["unit"])
def test_factor_of_the_handbook(row):
    """Source: NIST SP 811, see tests/references/units.toml; worst gap allowed is its rounding."""
    assert from_unit(1.0, row["unit"]) == pytest.approx(
        row["si"], rel=1e-15 if row["exact"] else 5e-7
    )


@pytest.mark.parametrize(
    ("text", "kind", "si"),
    [
        ("700 mm", units.LENGTH, 0.7),
        ("0.5 in", units.LENGTH, 0.0127),
        (" -25mm ", units.LENGTH, -0.025),
        (".5 m", units.LENGTH, 0.5),
        ("1e3 mm", units.LENGTH, 1.0),
        ("182 g", units.MASS, 0.182),
        ("2200 mAh", units.CAPACITY, 7920.0),
        ("60 rpm/V", units.SPEED_PER_VOLT, 6.283185307179586),
        ("180 deg", units.ANGLE, 3.141592653589793),
        ("0.10 s/60deg", units.SWEEP_TIME, 0.1),
        ("0.12 N m", units.MOMENT, 0.12),
        ("0.12 N·m", units.MOMENT, 0.12),
        ("2 N/mm", units.STIFFNESS, 2000.0),
        ("8 mohm", units.RESISTANCE, 0.008),
        ("40 %", units.FRACTION, 0.4),
        ("36 km/h", units.SPEED, 10.0),
        ("33 kg/m3", units.DENSITY, 33.0),
        ("0.4 MPa", units.STRESS, 4e5),
        ("20 C", units.TEMPERATURE, 293.15),
        ("288 K", units.TEMPERATURE, 288.0),
        ("59 F", units.TEMPERATURE, 288.15),
        ("1000kv", units.SPEED_PER_VOLT, 104.71975511965977),
        ("1000 KV", units.SPEED_PER_VOLT, 104.71975511965977),
        ("1000", units.SPEED_PER_VOLT, 104.71975511965977),
        ("1300", units.CAPACITY, 4680.0),
        (1300, units.CAPACITY, 4680.0),
        ("1/4 in", units.LENGTH, 0.00635),
        ("1 1/2 in", units.LENGTH, 0.0381),
        ("-1-1/2 in", units.LENGTH, -0.0381),
        ('24"', units.LENGTH, 0.6096),
        ("3/8 oz", units.MASS, 0.010631071171875),
        ("500 g", units.FORCE, 4.903325),
        ("16 oz", units.FORCE, 4.4482216152605),
        ("20 oz-in", units.MOMENT, 0.14123103628452086),
        ("20 oz/in", units.MOMENT, 0.14123103628452086),
        ("20 in oz", units.MOMENT, 0.14123103628452086),
        ("1.5 kg-cm", units.MOMENT, 0.14709975),
        ("0.1 kW", units.POWER, 100.0),
    ],
)
def test_reads_in_si(text, kind, si):
    assert read(text, kind) == pytest.approx(si, rel=1e-14)


def test_round_numbers_stay_round():
    assert read("700 mm", units.LENGTH) == 0.7
    assert read("2.9 g", units.MASS) == 0.0029


@pytest.mark.parametrize(
    ("text", "kind", "sentence"),
    [
        ("900", units.LENGTH, "'900': say a unit, such as '900 mm'"),
        (900, units.LENGTH, "900: say a unit and put it in quotes, such as '900 mm'"),
        (
            "1,2 kg",
            units.MASS,
            "'1,2 kg': write the number with a decimal point and no comma, such as '182 g'",
        ),
        (
            "1,200 g",
            units.MASS,
            "'1,200 g': write the number with a decimal point and no comma, such as '182 g'",
        ),
        (
            "25 Mm",
            units.LENGTH,
            "'25 Mm': 'Mm' is no unit of length: use mm, cm, m, in or ft; did you mean 'mm'?",
        ),
        (
            "3 furlongs",
            units.LENGTH,
            "'3 furlongs': 'furlongs' is no unit of length: use mm, cm, m, in or ft",
        ),
        ("7 g", units.LENGTH, "'7 g': 'g' is a mass; a length is wanted, such as '900 mm'"),
        ("long", units.LENGTH, "'long': write a number and a unit, such as '900 mm'"),
        ("", units.LENGTH, "'': write a number and a unit, such as '900 mm'"),
        ("nan mm", units.LENGTH, "'nan mm': write a number and a unit, such as '900 mm'"),
        ("1e999 mm", units.LENGTH, "'1e999 mm': too large a number"),
        ("٣ mm", units.LENGTH, "'٣ mm': write a number and a unit, such as '900 mm'"),
        (True, units.LENGTH, "true: write a number and a unit in quotes, such as '900 mm'"),
        ([1], units.LENGTH, "a list: write a number and a unit in quotes, such as '900 mm'"),
        ("2.2", units.CAPACITY, "'2.2': say a unit, '2.2 Ah' or '2.2 mAh'"),
        (2.2, units.CAPACITY, "2.2: say a unit and put it in quotes, '2.2 Ah' or '2.2 mAh'"),
        ("1/4", units.LENGTH, "'1/4': say a unit, such as '1/4 in'"),
        ("“6 mm”", units.LENGTH, "'“6 mm”': “ is a curly quote: write straight ones"),
        ("250 W", units.CURRENT, "'250 W': 'W' is a power; a current is wanted, such as '20 A'"),
        (0.3, units.FRACTION, "0.3: say a unit and put it in quotes, such as '30 %'"),
        (
            "1400 rpm",
            units.SPEED_PER_VOLT,
            "'1400 rpm': 'rpm' is a rate of turning; "
            "a motor's speed per volt is wanted, such as '1400 rpm/V'",
        ),
    ],
)
def test_refuses_in_words(text, kind, sentence):
    with pytest.raises(ValueError, match=r".") as problem:
        read(text, kind)
    assert str(problem.value) == sentence


def test_propeller_size():
    assert read_propeller("9x5 in") == pytest.approx((0.2286, 0.127), rel=1e-14)
    assert read_propeller("230 x 115 mm") == pytest.approx((0.23, 0.115), rel=1e-14)
    for text in ("8x4", "8X4", "8 in x 4 in", '8x4"', "8 x 4 inch"):
        assert read_propeller(text) == pytest.approx((0.2032, 0.1016), rel=1e-14), text
    assert read_propeller("230x115") == read_propeller("230x115 mm")


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("40x20", "'40x20': say a unit, '40x20 in' or '40x20 mm'"),
        ("9 in", "'9 in': write diameter x pitch with a unit, such as '9x5 in'"),
        (
            "9x4,5 in",
            "'9x4,5 in': write the number with a decimal point and no comma, such as '9x5 in'",
        ),
        ("9x5 lb", "'9x5 lb': 'lb' is a mass; a length is wanted, such as '900 mm'"),
        ("0x5 in", "'0x5 in': diameter and pitch must lie between 0 and 3 m"),
        (9, "9: write diameter x pitch with a unit, such as '9x5 in'"),
    ],
)
def test_propeller_size_refused(text, sentence):
    with pytest.raises(ValueError, match=r".") as problem:
        read_propeller(text)
    assert str(problem.value) == sentence


def test_there_and_back():
    random = Random(7)
    for kind in units.KINDS:
        for unit in kind.units:
            number = random.uniform(-1e4, 1e4)
            si = read(f"{number!r} {unit}", kind)
            assert si == pytest.approx(from_unit(number, unit), rel=1e-12)
            assert to_unit(si, unit) == pytest.approx(number, rel=1e-9)


def test_every_unit_belongs_to_one_kind():
    owners: dict[str, str] = {}
    for kind in units.KINDS:
        for unit in kind.units:
            assert owners.setdefault(unit, kind.noun) == kind.noun


def test_no_text_breaks_the_reader():
    random, letters = Random(11), "0123456789+-.,eE mMcginft%x'\"\\°²٣\n\t"
    for _ in range(3000):
        text = "".join(random.choices(letters, k=random.randrange(9)))
        for kind in (units.LENGTH, units.TEMPERATURE, units.FRACTION):
            told = refusal(text, kind)
            assert told is None or told.startswith(repr(text))


def refusal(text, kind):
    """The sentence with which a text is refused, None when it is read."""
    try:
        return None if math.isfinite(read(text, kind)) else "not finite"
    except ValueError as problem:
        return str(problem)


ROOT = Path(__file__).parent.parent
SOURCES = [
    path
    for folder in ("sim", "scenes", "benchmarks")
    for path in sorted((ROOT / folder).rglob("*.py"))
    if path != ROOT / "sim" / "units.py"
]
# Never anything but a conversion, wherever they stand; the second ones only in a product, as
# they are sizes and limits elsewhere: 3.6 mm letters, a height of 1000 ft.
FACTORS_ALONE = (9.80665, 9.81, 0.3048, 0.0254, 0.45359237, 453.59237, 273.15, 6894.757, 1609.344)
FACTORS_IN_PRODUCTS = (1000.0, 1e-3, 3.6, 3600.0, 25.4)
# Literals that stay, by file and literal, each with its reason.
STAY = {
    ("sim/kernels/gusts.py", 0.3048): "kernels import kernels only; held to units.FOOT below",
    ("benchmarks/speed.py", 1000.0): "a thousand steps that were timed together",
    ("scenes/words/synth.py", 1000.0): "a phase wrapped after so many turns",
}


def literal(node: ast.AST) -> float | None:
    """The number a node is, without its sign; None when it is none."""
    while isinstance(node, ast.UnaryOp):
        node = node.operand
    value = node.value if isinstance(node, ast.Constant) else None
    return value if isinstance(value, (int, float)) and not isinstance(value, bool) else None


def is_pi(node: ast.AST) -> bool:
    return getattr(node, "id", getattr(node, "attr", "")) == "pi"


def product(node: ast.AST) -> list[ast.AST]:
    """What is multiplied and divided in a product, through its brackets."""
    if isinstance(node, ast.BinOp) and isinstance(node.op, (ast.Mult, ast.Div)):
        return [*product(node.left), *product(node.right)]
    return [node]


def conversions(source: str) -> set[float]:
    """The factors between units that stand by hand in a source; pi / 30 as 30."""
    found = set()
    for node in ast.walk(ast.parse(source)):
        if literal(node) in FACTORS_ALONE:
            found.add(literal(node))
        parts = product(node)
        if len(parts) > 1:
            numbers = {literal(part) for part in parts}
            found |= numbers.intersection(FACTORS_IN_PRODUCTS)
            if any(is_pi(part) for part in parts):
                found |= numbers.intersection((30, 60))
    return found


@pytest.mark.parametrize(
    ("source", "factors"),
    [
        ("weight / 9.80665", {9.80665}),
        ("f'{1e3 * place:.0f} mm'", {1000.0}),
        ("-1000 * place", {1000.0}),
        ("speed * 30.0 / math.pi", {30.0}),
        ("pi * (radius * rpm) / 30", {30.0}),
        ("charge / 3.6 + 1", {3.6}),
        ("min(1000.0, height), 3.6, mm(place), 30.0 * gain", set()),
    ],
)
def test_a_conversion_by_hand_is_seen(source, factors):
    assert conversions(source) == factors


def test_all_conversions_are_here():
    """Every factor between units stands in `units` alone, with its name."""
    found = {
        (path.relative_to(ROOT).as_posix(), factor)
        for path in SOURCES
        for factor in conversions(path.read_text(encoding="utf-8"))
    }
    assert sorted(found) == sorted(STAY)


def test_the_kernels_foot_is_a_foot():
    assert gusts.FOOT == units.FOOT


@pytest.mark.parametrize(
    ("shown", "unit"),
    [
        (units.mm, "mm"),
        (units.grams, "g"),
        (units.rpm, "rpm"),
        (units.mah, "mAh"),
        (units.amp_hours, "Ah"),
        (units.km_h, "km/h"),
        (units.kgf, "kgf"),
        (units.milliohms, "mohm"),
        (units.ms, "ms"),
        (units.minutes, "min"),
    ],
)
def test_short_names_agree_with_the_table(shown, unit):
    assert shown(0.37) == pytest.approx(to_unit(0.37, unit), rel=1e-15)
    assert shown(np.array([0.37, -2.0])) == pytest.approx([shown(0.37), shown(-2.0)], rel=1e-15)


def test_the_ways_back():
    assert units.from_mm(18) == 0.018
    assert units.from_rpm(units.rpm(800.0)) == pytest.approx(800.0, rel=1e-15)
    assert units.from_mah(1300.0) == read("1300 mAh", units.CAPACITY)
    assert units.g_dm2(4.2) == pytest.approx(42.0)  # 0.01 m2 in a dm2
