"""Types of quantities: their bounds, what they say of themselves, the way out in the same units."""

import tomllib

import pytest
from pydantic import BaseModel, TypeAdapter, ValidationError

from firstthrow.sim import units
from firstthrow.sim.describe import quantities
from firstthrow.sim.describe.keys import annotation_at, quantity_kind
from firstthrow.sim.describe.notes import Notes, Static
from firstthrow.sim.describe.write import quantity_text, toml


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
