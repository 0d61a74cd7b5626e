"""A box of the window as it was drawn once, put there again. Needs a current context.

A software renderer puts a paper full of words and lines there in a hundredth of the time that
drawing it takes: what is kept lies upside down, as a window's own rows do, and in the window's
order of colours, so that it is copied as it is. A card keeps it upright: its driver may have given
the window samples of its own, and then refuse to turn it over.
"""

from __future__ import annotations

from pyglet import gl

from firstthrow.scenes.world.camera import Box
from firstthrow.scenes.world.canvas import is_software
from firstthrow.scenes.world.textures import as_window, copied


class KeptPicture:
    """Of one box at a time, for whatever `of` stands for, by OpenGL's own name of the renderer."""

    def __init__(self, renderer: str) -> None:
        self.turned = is_software(renderer)
        self.of: object = None
        self.box: Box = (0, 0, 0, 0)
        self.frame, self.colour = gl.GLuint(), gl.GLuint()
        gl.glGenFramebuffers(1, self.frame)
        gl.glGenTextures(1, self.colour)

    def keep(self, of: object, box: Box) -> None:
        """What the window's framebuffer holds in the box now."""
        x, y, wide, tall = box
        gl.glActiveTexture(gl.GL_TEXTURE0)
        gl.glBindTexture(gl.GL_TEXTURE_2D, self.colour)
        if self.box[2:] != box[2:]:
            as_window(wide, tall)
            gl.glBindFramebuffer(gl.GL_FRAMEBUFFER, self.frame)
            gl.glFramebufferTexture2D(
                gl.GL_FRAMEBUFFER, gl.GL_COLOR_ATTACHMENT0, gl.GL_TEXTURE_2D, self.colour, 0
            )
        self.of, self.box = of, box
        gl.glBindFramebuffer(gl.GL_FRAMEBUFFER, 0)
        if self.turned:
            gl.glBindFramebuffer(gl.GL_DRAW_FRAMEBUFFER, self.frame)
            copied((x, y, x + wide, y + tall), (0, tall, wide, 0))
            gl.glBindFramebuffer(gl.GL_DRAW_FRAMEBUFFER, 0)
        else:
            gl.glCopyTexSubImage2D(gl.GL_TEXTURE_2D, 0, 0, 0, x, y, wide, tall)

    def shows(self, of: object, box: Box) -> bool:
        """Whether that is what is kept, and was put there again."""
        if of is not self.of or box != self.box:
            return False
        x, y, wide, tall = box
        gl.glBindFramebuffer(gl.GL_READ_FRAMEBUFFER, self.frame)
        kept = (0, tall, wide, 0) if self.turned else (0, 0, wide, tall)
        copied(kept, (x, y, x + wide, y + tall))
        gl.glBindFramebuffer(gl.GL_READ_FRAMEBUFFER, 0)
        return True
