"""Pictures made by code, put into the card's memory. Needs a current context."""

from __future__ import annotations

import ctypes

import numpy as np
from pyglet import gl

KINDS = {1: (gl.GL_R8, gl.GL_RED), 2: (gl.GL_RG8, gl.GL_RG), 4: (gl.GL_RGBA8, gl.GL_RGBA)}


def texture(levels: np.ndarray, repeats: bool) -> gl.GLuint:
    """Of (tall, wide, channels) values 0..1; far away it fades to its mean."""
    made = gl.GLuint()
    gl.glGenTextures(1, made)
    gl.glBindTexture(gl.GL_TEXTURE_2D, made)
    data = np.ascontiguousarray(np.round(255.0 * levels).astype(np.uint8))
    tall, wide, channels = data.shape
    stored, sent = KINDS[channels]
    gl.glPixelStorei(gl.GL_UNPACK_ALIGNMENT, 1)
    pixels = data.ctypes.data_as(ctypes.c_void_p)
    gl.glTexImage2D(gl.GL_TEXTURE_2D, 0, stored, wide, tall, 0, sent, gl.GL_UNSIGNED_BYTE, pixels)
    gl.glPixelStorei(gl.GL_UNPACK_ALIGNMENT, 4)
    gl.glGenerateMipmap(gl.GL_TEXTURE_2D)
    gl.glTexParameteri(gl.GL_TEXTURE_2D, gl.GL_TEXTURE_MIN_FILTER, gl.GL_LINEAR_MIPMAP_NEAREST)
    gl.glTexParameteri(gl.GL_TEXTURE_2D, gl.GL_TEXTURE_MAG_FILTER, gl.GL_LINEAR)
    if not repeats:
        for way in (gl.GL_TEXTURE_WRAP_S, gl.GL_TEXTURE_WRAP_T):
            gl.glTexParameteri(gl.GL_TEXTURE_2D, way, gl.GL_CLAMP_TO_EDGE)
    return made
