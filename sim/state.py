"""The state vector: slots, units, axes and signs, said once.

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

MAX_MOTORS = 2
MAX_SURFACES = 8

POSITION = 0  # north, east, down [m]
ATTITUDE = 3  # quaternion w, x, y, z
VELOCITY = 7  # of the centre of gravity over the ground, body axes u, v, w [m/s]
RATE = 10  # body rates p, q, r [rad/s]
ROTOR = 13  # rotor speed of each motor in its own sense of rotation [rad/s]
SURFACE = ROTOR + MAX_MOTORS  # surface angle [rad]
CHARGE = SURFACE + MAX_SURFACES  # charge drawn from the pack [A s]
SIZE = CHARGE + 1

# What a flight is told for each step: surface angles asked for [rad], then throttle 0..1.
COMMAND_SURFACE = 0
COMMAND_THROTTLE = MAX_SURFACES
COMMAND_SIZE = MAX_SURFACES + MAX_MOTORS
