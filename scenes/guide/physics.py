"""The guide's second part: the physics in two pages; equations, axes, what is crude."""

from __future__ import annotations

from firstthrow.sim.build.lattice import CHORDWISE
from firstthrow.sim.kernels.integrate import STEP
from firstthrow.sim.paper.html import heading, listed, paragraph, preformatted, table

AXES = (
    ("builder", "datum, a point a hand can touch", "aft, right, up", "files, reports, paper"),
    ("body", "centre of gravity", "x ahead, y right, z down", "forces, rates, flight"),
    ("field", "the thrower's feet", "x north, y east, z down", "place, wind, gravity"),
)
EQUATIONS = """\
translation   m (dV/dt + w x V) = F_air + F_drive + F_ground + m g
rotation      I dw/dt + w x (I w + h) = M_air + M_drive + M_ground
              h: spin of the rotors; m and I with the air that a plate drags along
attitude      dq/dt = q (0, w) / 2, a quaternion from body to field

each strip    dN = q_s c dy [(1 - s) C_N,attached + s C_N,separated]
  attached    circulation of a vortex lattice over all sheets, suction of the side edges
  separated   a plate's C_N past its stall by aspect ratio, acting at
              x/c = 1/2 - (3/4) cos a / (4 + pi sin a), Kirchhoff and Rayleigh
  edges       no suction at a square edge: drag = lift tan a + friction

propeller     T = rho n^2 D^4 C_T(J), Q = rho n^2 D^5 C_P(J) / 2 pi
              by blade elements and momentum
motor         V = I R + w / Kv, Q = (I - I0) / Kv, Kv in rad/s per volt
slipstream    v = -V/2 + sqrt(V^2/4 + T / (2 rho A)), twice that far behind; and swirl

balance       static margin = (x_NP - x_CG) / chord, x_NP the neutral point
"""
CRUDE = (
    "Lift follows the angle of attack at once: the lag of the wake is left out.",
    "Wakes lie straight back and rigid, in sideslip too: a plate of aspect ratio 4 rolls a third "
    "too much in a slip.",
    "A stalled sheet sheds no vortices on a tail; its stall lags, its loads do not.",
    "A propeller has one Reynolds number, and a blade width that is a guess unless measured.",
    "A board is stiff until it breaks; it neither twists nor flutters.",
    "Grass, impacts and the strength of foam are estimates.",
    "Gusts are the standard model of a boundary layer, not the lee of your hedge.",
)


def physics() -> list[str]:
    """HTML of the part."""
    rate = round(1.0 / STEP)
    return [
        heading("The physics in two pages"),
        paragraph(
            "The airframe is a rigid body. Its sheets are cut into strips along the wind; each "
            "strip feels the air where it is, with the speed that turning gives it. Everything is "
            f"added up and stepped by a fourth-order Runge-Kutta rule, {rate} times a second, "
            "in steps up to four times as long where the flight is calm and shorter near the "
            "ground. There are no coefficients of a whole airframe anywhere: stability, damping "
            "and control come out of where the sheets are."
        ),
        table(
            "Axes",
            ("axes", "from", "directions", "where"),
            AXES,
        ),
        paragraph(
            "Angle of attack: from the body's x axis to the wind, nose up positive. Sideslip: wind "
            "from the right positive. A surface's angle is positive with its trailing edge up, on "
            "a rudder to the right. Rates p, q, r: right wing down, nose up, nose right."
        ),
        preformatted(EQUATIONS),
        paragraph(
            f"Attached flow: horseshoe vortices on {CHORDWISE} stations along every strip, solved "
            "once when the airframe is set up and kept as a matrix, so that sheets feel one "
            "another; images below the ground give the ground effect. Past the stall a share s of "
            "each strip is separated, by angle of attack and aspect ratio. A flat plate stalls "
            "early and gently; one of low aspect ratio holds on to 37 degrees by the vortices of "
            "its side edges."
        ),
        paragraph(
            "Why balance matters: the load of a plate acts near the front quarter of its chord "
            "while attached and near its middle when stalled. The neutral point is where the "
            "moment does not change with the angle of attack. With the centre of gravity ahead of "
            "it, a nose that is pushed up comes back; behind it, it goes on."
        ),
        paragraph("What is crude, and told where it stands:"),
        listed(CRUDE),
        paragraph(
            "How right all this is, value by value, with its misses first: `firstthrow proof "
            "--out proof.html`."
        ),
    ]
