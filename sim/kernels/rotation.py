"""Quaternions (scalar first), body to field. Source: ISO 1151-2; Stevens and Lewis, ch. 1."""

from math import asin, atan2, cos, sin, sqrt

from firstthrow.sim.kernels.compiled import exact, kernel


@exact
def to_field(w, x, y, z, a, b, c):
    """The vector (a, b, c) given in body axes, in field axes; the quaternion of any length."""
    # v + 2 w (q x v) + 2 q x (q x v), with q the vector part; over |q|^2, since the stages of
    # a Runge-Kutta step are not quite unit.
    twice = 2.0 / (w * w + x * x + y * y + z * z)
    s = twice * (y * c - z * b)
    t = twice * (z * a - x * c)
    u = twice * (x * b - y * a)
    return (
        a + w * s + y * u - z * t,
        b + w * t + z * s - x * u,
        c + w * u + x * t - y * s,
    )


@kernel
def to_body(w, x, y, z, a, b, c):
    """The vector (a, b, c) given in field axes, in body axes."""
    return to_field(w, -x, -y, -z, a, b, c)


@kernel
def rate(w, x, y, z, p, q, r):
    """Time derivative of the quaternion under body rates p, q, r [rad/s]."""
    return (
        -0.5 * (x * p + y * q + z * r),
        0.5 * (w * p + y * r - z * q),
        0.5 * (w * q + z * p - x * r),
        0.5 * (w * r + x * q - y * p),
    )


@exact
def angles(w, x, y, z):
    """Roll, pitch, heading [rad]; heading in -pi..pi."""
    roll = atan2(2.0 * (w * x + y * z), 1.0 - 2.0 * (x * x + y * y))
    pitch = asin(max(-1.0, min(1.0, 2.0 * (w * y - z * x))))
    heading = atan2(2.0 * (w * z + x * y), 1.0 - 2.0 * (y * y + z * z))
    return roll, pitch, heading


@kernel
def from_angles(roll, pitch, heading):
    """Quaternion of the rotation heading, then pitch, then roll."""
    cr, sr = cos(0.5 * roll), sin(0.5 * roll)
    cp, sp = cos(0.5 * pitch), sin(0.5 * pitch)
    ch, sh = cos(0.5 * heading), sin(0.5 * heading)
    return (
        cr * cp * ch + sr * sp * sh,
        sr * cp * ch - cr * sp * sh,
        cr * sp * ch + sr * cp * sh,
        cr * cp * sh - sr * sp * ch,
    )


@kernel
def normalised(w, x, y, z):
    n = 1.0 / sqrt(w * w + x * x + y * y + z * z)
    return w * n, x * n, y * n, z * n
