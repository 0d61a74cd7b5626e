"""Pictures made by code, put into the card's memory. Needs a current context."""

from __future__ import annotations

import ctypes

import numpy as np
from pyglet import gl

from firstthrow.scenes.world.levels import Levels

KINDS = {1: (gl.GL_R8, gl.GL_RED), 2: (gl.GL_RG8, gl.GL_RG), 4: (gl.GL_RGBA8, gl.GL_RGBA)}


def texture(picture: Levels) -> gl.GLuint:
    """Far away it fades to its mean. Its levels are not left to the card: a software renderer takes
    longer to make them than to draw everything."""
    made = gl.GLuint()
    gl.glGenTextures(1, made)
    gl.glBindTexture(gl.GL_TEXTURE_2D, made)
    gl.glPixelStorei(gl.GL_UNPACK_ALIGNMENT, 1)
    for level, data in enumerate(picture):
        tall, wide, channels = data.shape
        stored, sent = KINDS[channels]
        size, pixels = (wide, tall, 0, sent), data.ctypes.data_as(ctypes.c_void_p)
        gl.glTexImage2D(gl.GL_TEXTURE_2D, level, stored, *size, gl.GL_UNSIGNED_BYTE, pixels)
    gl.glPixelStorei(gl.GL_UNPACK_ALIGNMENT, 4)
    gl.glTexParameteri(gl.GL_TEXTURE_2D, gl.GL_TEXTURE_MIN_FILTER, gl.GL_LINEAR_MIPMAP_NEAREST)
    gl.glTexParameteri(gl.GL_TEXTURE_2D, gl.GL_TEXTURE_MAG_FILTER, gl.GL_LINEAR)
    for way in (gl.GL_TEXTURE_WRAP_S, gl.GL_TEXTURE_WRAP_T):
        gl.glTexParameteri(gl.GL_TEXTURE_2D, way, gl.GL_CLAMP_TO_EDGE)
    return made


def layered(picture: np.ndarray) -> gl.GLuint:
    """Of (n, tall, wide, 4) bytes: layers that repeat and are not smoothed."""
    made, kind = gl.GLuint(), gl.GL_TEXTURE_2D_ARRAY
    gl.glGenTextures(1, made)
    gl.glBindTexture(kind, made)
    count, tall, wide, channels = picture.shape
    stored, sent = KINDS[channels]
    pixels = np.ascontiguousarray(picture).ctypes.data_as(ctypes.c_void_p)
    size = wide, tall, count, 0
    gl.glTexImage3D(kind, 0, stored, *size, sent, gl.GL_UNSIGNED_BYTE, pixels)
    for way in (gl.GL_TEXTURE_MIN_FILTER, gl.GL_TEXTURE_MAG_FILTER):
        gl.glTexParameteri(kind, way, gl.GL_NEAREST)
    return made


def as_window(wide: int, tall: int) -> None:
    """Gives the texture that is bound room for pixels in the order in which most windows keep
    theirs: between two orders a software renderer copies by a program, which takes it ten times as
    long."""
    order = gl.GL_BGRA, gl.GL_UNSIGNED_BYTE, None
    gl.glTexImage2D(gl.GL_TEXTURE_2D, 0, gl.GL_RGBA, wide, tall, 0, *order)
    for name, value in (
        (gl.GL_TEXTURE_MIN_FILTER, gl.GL_NEAREST),
        (gl.GL_TEXTURE_MAG_FILTER, gl.GL_NEAREST),
        (gl.GL_TEXTURE_WRAP_S, gl.GL_CLAMP_TO_EDGE),
        (gl.GL_TEXTURE_WRAP_T, gl.GL_CLAMP_TO_EDGE),
    ):
        gl.glTexParameteri(gl.GL_TEXTURE_2D, name, value)


Corners = tuple[int, int, int, int]  # one corner and the one across


def copied(source: Corners, target: Corners) -> None:
    """From the framebuffer that is read to the one that is drawn in, colours alone."""
    gl.glBlitFramebuffer(*source, *target, gl.GL_COLOR_BUFFER_BIT, gl.GL_NEAREST)
