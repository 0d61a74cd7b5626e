"""A box of the window as it was drawn once, put there again. Needs a current context.

A software renderer puts a paper full of words and lines there in a tenth of the time that drawing
it takes.
"""

from __future__ import annotations

from pyglet import gl

from firstthrow.scenes.world.camera import Box


class KeptPicture:
    """Of one box at a time, for whatever `of` stands for."""

    def __init__(self) -> None:
        self.of: object = None
        self.box: Box = (0, 0, 0, 0)
        self.frame, self.colour = gl.GLuint(), gl.GLuint()
        gl.glGenFramebuffers(1, self.frame)
        gl.glGenTextures(1, self.colour)

    def keep(self, of: object, box: Box) -> None:
        """What the window's framebuffer holds in the box now."""
        x, y, wide, tall = self.box = box
        self.of = of
        gl.glActiveTexture(gl.GL_TEXTURE0)
        gl.glBindTexture(gl.GL_TEXTURE_2D, self.colour)
        gl.glTexParameteri(gl.GL_TEXTURE_2D, gl.GL_TEXTURE_MIN_FILTER, gl.GL_NEAREST)
        gl.glCopyTexImage2D(gl.GL_TEXTURE_2D, 0, gl.GL_RGBA8, x, y, wide, tall, 0)
        gl.glBindFramebuffer(gl.GL_FRAMEBUFFER, self.frame)
        gl.glFramebufferTexture2D(
            gl.GL_FRAMEBUFFER, gl.GL_COLOR_ATTACHMENT0, gl.GL_TEXTURE_2D, self.colour, 0
        )
        gl.glBindFramebuffer(gl.GL_FRAMEBUFFER, 0)

    def shows(self, of: object, box: Box) -> bool:
        """Whether that is what is kept, and was put there again."""
        if of is not self.of or box != self.box:
            return False
        x, y, wide, tall = box
        gl.glBindFramebuffer(gl.GL_READ_FRAMEBUFFER, self.frame)
        gl.glBlitFramebuffer(
            0, 0, wide, tall, x, y, x + wide, y + tall, gl.GL_COLOR_BUFFER_BIT, gl.GL_NEAREST
        )
        gl.glBindFramebuffer(gl.GL_READ_FRAMEBUFFER, 0)
        return True
