"""Names on pages are words: no formula, no command."""

from __future__ import annotations

import pytest
from bodies import shipped

from firstthrow.sim.paper.plan_view import page
from firstthrow.sim.paper.plots import polar as polar_plot
from firstthrow.sim.paper.printing import write
from firstthrow.sim.study.polar import polar_study
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.study.weigh import weigh

NAME = r"$\frac{1}{$ \$ %s {0} </b> & _x^y"


@pytest.mark.parametrize("suffix", [".png", ".svg", ".pdf"])
def test_a_name_with_signs_of_formulas(tmp_path, suffix):
    airframe = shipped().model_copy(update={"name": NAME})
    subject = Subject(airframe)
    drawing = tmp_path / f"plan{suffix}"
    write(page(airframe, weigh(subject)), drawing)
    polar_plot.write(polar_study(subject, 0.0), tmp_path / f"polar{suffix}")
    assert drawing.stat().st_size > 5000
