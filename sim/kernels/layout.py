"""What kernels work on: slots of state, command, report, sizes of tables; axes and signs, once.

Builder's frame: x aft from the datum (the root leading edge unless the file says
otherwise), y right, z up.
Body axes (ISO 1151): origin at the centre of gravity, x forward, y right, z down.
Field axes: north, east, down; flat earth. Height is minus `down`.
Attitude: unit quaternion, scalar first, turning body vectors into field vectors.

Signs: a positive roll rate lowers the right wing, a positive pitch rate raises the nose,
a positive yaw rate swings the nose right. A surface angle is positive with the trailing
edge down (flat sheets) or to the left (upright sheets). Stick roll is positive to the right,
stick pitch positive when pulled back (nose up), stick yaw positive to the right (nose right).
"""

from math import pi, radians

MAX_MOTORS = 2
MAX_SURFACES = 8
MAX_STRIPS = 24  # that fly
MAX_CONTACTS = 40

POSITION = 0  # north, east, down [m]
ATTITUDE = 3  # quaternion w, x, y, z
VELOCITY = 7  # of the centre of gravity over the ground, body axes u, v, w [m/s]
RATE = 10  # body rates p, q, r [rad/s]
ROTOR = 13  # rotor speed of each motor in its own sense of rotation [rad/s]
SURFACE = ROTOR + MAX_MOTORS  # surface angle [rad]
CHARGE = SURFACE + MAX_SURFACES  # charge drawn from the pack [A s]
# Of what swings within the play of its linkage: angle beyond the middle of its play [rad], and how
# fast it turns about its hinge [rad/s].
SLACK = CHARGE + 1
SWING = SLACK + MAX_SURFACES
SIZE = SWING + MAX_SURFACES

# What a flight is told: surface angles asked for [rad], throttle 0..1 of each motor, whether a hand
# still holds the airframe; and the angles that the servos are asked for next, so many ticks on.
COMMAND_SURFACE = 0
COMMAND_THROTTLE = MAX_SURFACES
COMMAND_HELD = COMMAND_THROTTLE + MAX_MOTORS
COMMAND_ASLEEP = COMMAND_HELD + 1  # 1 while the receiver restarts after a brown-out
COMMAND_DEAD = COMMAND_ASLEEP + 1  # 1 once the controller of a motor has burnt or cut out
COMMAND_NEXT = COMMAND_DEAD + MAX_MOTORS
COMMAND_TICKS = COMMAND_NEXT + MAX_SURFACES
COMMAND_SIZE = COMMAND_TICKS + 1

# What the air adds to the steady wind, in the mean over a step: gust north, east, down [m/s], its
# gradient across the span as a roll rate [rad/s]; then the memory of the turbulence filters (see
# `gusts`), how fast the gust changes where it is met, and what it was in the last tick.
ROLL_GUST = 3
GUST_RATE = ROLL_GUST + 1 + 6  # [m/s2], three
GUST_LAST = GUST_RATE + 3  # north, east, down [m/s]
GUST_SIZE = GUST_LAST + 3

# What is separated, as it lags behind the flow: for each strip the direction that the air has come
# from of late, and the share (see `separation`).
ALONG, UPWARD, LATE_SHARE = range(3)
LATE = 3

# What the derivative reports beside the rates of change.
SPECIFIC_FORCE = 0  # of the centre of gravity, body axes [m/s2]
AIR = 3  # velocity of the air past the centre of gravity, body axes [m/s]
WIND = 6  # north, east, down [m/s]
THRUST = 9  # of each motor [N]
MOTOR_CURRENT = THRUST + MAX_MOTORS  # [A]
PACK_VOLTAGE = MOTOR_CURRENT + MAX_MOTORS  # under load [V]
PACK_CURRENT = PACK_VOLTAGE + 1  # [A]
SUPPLY_VOLTAGE = PACK_CURRENT + 1  # to the servos [V]
SEPARATED = SUPPLY_VOLTAGE + 1  # share of the largest flat sheet's area that is stalled, 0..1
BENDING = SEPARATED + 1  # worst root bending moment / its strength
HINGE = BENDING + 1  # hinge moment of each surface, trailing edge up [N m]
DEFLECTION = HINGE + MAX_SURFACES  # angle of each surface, with its slop taken up [rad]
TOUCHING = DEFLECTION + MAX_SURFACES  # number of contact points on the ground
BREAKING = TOUCHING + 1  # worst closing speed / speed that breaks the point
BROKEN = BREAKING + 1  # which point that is
STRIKE = BROKEN + 1  # depth of a turning propeller in the ground [m], 0 when clear
SEPARATING = STRIKE + 1  # most that the separated share of a strip has changed in a tick
REPORT_SIZE = SEPARATING + 1

# The attached flow's response, `build.lattice`: rows by where the flow comes from.
AHEAD, BEHIND, NEAR_GROUND = 0, 1, 2
GROUND_HEIGHTS = (0.05, 0.12, 0.25, 0.5, 1.0)  # in spans of the largest sheet

# The plate tables, `build.section`.
ANGLES = 256  # intervals of the diamond coordinate round the circle
DEFLECTIONS = 16  # intervals over the surface's +-60 degrees
MAX_DEFLECTION = radians(60.0)
FLAP_REACH = 0.5 * pi  # the effectiveness table runs from 0 to this surface angle
FLAP_STEPS = 60
SHARE, NORMAL, AXIAL, MOMENT, HINGE_MOMENT = range(5)
CHANNELS = 5

# Plate normal to the flow, infinite span: Hoerner, Fluid-Dynamic Drag (1965).
CD_90_2D = 1.98

REST_STEPS = 20  # intervals of the pack's rest voltage over its charge
