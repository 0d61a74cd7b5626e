"""Types of quantities: their bounds, what they say of themselves, the way out in the same units."""

import tomllib

import pytest
from pydantic import BaseModel, TypeAdapter, ValidationError

from firstthrow.sim import units
from firstthrow.sim.describe import airframe, drive, field, quantities, sheets
from firstthrow.sim.describe.keys import annotation_at, mapped, model_of, quantity_kind
from firstthrow.sim.describe.notes import Notes, Static
from firstthrow.sim.describe.write import quantity_text, toml
from firstthrow.sim.study.odds.scatter import Scatter


class Board(BaseModel):
    thickness: quantities.PositiveLength
    aft: quantities.Length
    friction: quantities.Fraction


def test_types_bound_their_values():
    with pytest.raises(ValidationError) as error:
        Board.model_validate({"thickness": "0 mm", "aft": "-3 mm", "friction": "120 %"})
    assert [e["msg"] for e in error.value.errors()] == [
        "'0 mm': must be more than 0",
        "'120 %': must lie between 0 % and 100 %",
    ]


def test_types_describe_themselves():
    schema = TypeAdapter(quantities.Mass).json_schema()
    assert schema["examples"] == ["182 g"]
    assert schema["description"] == "a mass with its unit: g, kg, oz or lb"


def test_the_kind_of_a_key_is_that_of_its_type():
    assert quantity_kind(annotation_at(Notes, ("static", "bench", "rpm"))) is units.ANGULAR_SPEED
    assert quantity_kind(annotation_at(Notes, ("steady", "one", "up_trim"))) is units.LENGTH
    assert quantity_kind(annotation_at(Notes, ("about",))) is None


@pytest.mark.parametrize("kind", units.KINDS, ids=lambda kind: kind.noun)
def test_a_value_is_written_in_a_unit_of_its_kind_and_read_again(kind):
    """In the unit of the example, so that the example is written as it stands there."""
    value = units.read(kind.example, kind)
    text = quantity_text(value, kind)
    assert units.read(text, kind) == pytest.approx(value, rel=1e-12)
    assert text.split(" ", 1)[1] == kind.example.split(" ", 1)[1]


def test_a_propeller_is_written_as_it_is_read():
    size = units.read_propeller("9x4.5 in")
    assert quantity_text(size, units.PROPELLER) == "9x4.5 in"


def test_every_quantity_in_a_file_has_its_unit():
    """Also a rate of turning and a force, which stand in notes alone."""
    notes = Notes(static={"bench": Static(rpm="8000 rpm", thrust="3.1 N", current="11 A")})
    table = tomllib.loads(toml(notes, "", {}))["static"]["bench"]
    assert table == {"rpm": "8000 rpm", "thrust": "3.1 N", "current": "11 A"}
    assert Notes.model_validate({"static": {"bench": table}}) == notes


def door(model, changes: dict[str, str]) -> list[str]:
    """What a description says of values with another quantity at some keys."""
    with pytest.raises(ValidationError) as error:
        TypeAdapter(model).validate_python(changes)
    return [e["msg"] for e in error.value.errors() if e["type"] == "quantity"]


@pytest.mark.parametrize(
    ("model", "key", "text", "said"),
    [
        (drive.Motor, "kv", "140000 rpm/V", "10 rpm/V and 20000 rpm/V"),
        (drive.Propeller, "mass", "0.01 g", "0.1 g and 20 kg"),
        (drive.Propeller, "blade_width", "0.2 mm", "1 mm and 300 mm"),
        (drive.Servo, "torque", "0.001 kgcm", "0.01 kgcm and 2000 kgcm"),
        (drive.Servo, "speed", "0.1 ms", "0.01 s and 10 s"),
        (drive.Servo, "delay", "20 s", "0 ms and 1000 ms"),
        (drive.Controller, "cutoff", "330 V", "0.1 V and 4.3 V"),
        (sheets.Outline, "span", "7000 ft", "10 mm and 20 m"),
        (sheets.Outline, "chord", "0.35 mm", "10 mm and 20 m"),
        (sheets.Sheet, "thickness", "6 m", "0.1 mm and 300 mm"),
        (sheets.Surface, "horn", "0.2 mm", "1 mm and 300 mm"),
        (field.Wind, "speed", "400 m/s", "0 m/s and 40 m/s"),
        (field.Ground, "elevation", "40000 m", "-500 m and 6000 m"),
        (airframe.HandLaunch, "speed", "900 m/s", "0 m/s and 60 m/s"),
        (airframe.Item, "mass", "300 kg", "0.001 g and 200 kg"),
    ],
)
def test_what_is_a_hundred_times_out_stays_outside(model, key, text, said):
    assert f"'{text}': must lie between {said}" in door(model, {key: text})


def every_quantity(model, seen=()):
    """(description, key, quantity) of every quantity in a description and those within it."""
    for key, info in model.model_fields.items():
        for said in (*info.metadata, *getattr(info.annotation, "__args__", ())):
            for inner in (said, *getattr(said, "__metadata__", ())):
                if isinstance(inner, quantities.Quantity):
                    yield model.__name__, key, inner
        inner = children_of(info.annotation)
        if inner and inner not in seen:
            yield from every_quantity(inner, (*seen, inner))


def children_of(annotation):
    return model_of(annotation) or model_of(mapped(annotation))


@pytest.mark.parametrize("model", [airframe.Airframe, field.Field, Notes, Scatter])
def test_every_quantity_has_ends(model):
    found = list(every_quantity(model))
    assert len(found) > 5
    for _, _, quantity in found:
        assert -1e6 < quantity.bounds.low < quantity.bounds.high < 1e9
