"""Where the scene is drawn before it reaches the window: smooth edges, whatever draws them.

A graphics card gets four samples a pixel. A software renderer, for which those samples cost
more than all the drawing, gets one sample and a pass that softens edges. Where it is known which
boxes of the picture have edges, it draws straight into the window and softens a copy of those: for
it a copy of the whole picture costs as much as drawing the sky. No card is asked for such a copy:
its driver may have given the window samples of its own, and then refuse to turn it over.
"""

from __future__ import annotations

from collections.abc import Sequence

from pyglet import gl

from firstthrow.scenes.world import shaders
from firstthrow.scenes.world.camera import Box
from firstthrow.scenes.world.textures import as_window, copied

SOFTWARE = ("llvmpipe", "softpipe", "swrast", "swiftshader", "software")
SAMPLES = 4


def is_software(renderer: str) -> bool:
    """Whether OpenGL's own name of the renderer says that the processor does the drawing."""
    return any(name in renderer.lower() for name in SOFTWARE)


class Canvas:
    """A framebuffer the size of the window; `begin`, draw, then `show` it in the window. Both are
    told the same `edges`: the boxes outside which the picture has no edges to soften; None for all
    of it. Only in `software` they are asked for."""

    def __init__(self, width: int, height: int, samples: int, software: bool):
        self.samples, self.software = samples, software
        self.frame = gl.GLuint()
        self.depth = gl.GLuint()
        self.colour = gl.GLuint()
        gl.glGenFramebuffers(1, self.frame)
        gl.glGenRenderbuffers(1, self.depth)
        if samples:
            gl.glGenRenderbuffers(1, self.colour)
        else:
            gl.glGenTextures(1, self.colour)
            self.smooth = shaders.program(shaders.SMOOTH_VERTEX, shaders.SMOOTH_FRAGMENT)
            self.smooth.use()
            self.smooth["sharp"] = 0
            corners = (-1.0, -1.0, 3.0, -1.0, -1.0, 3.0)
            self.whole = self.smooth.vertex_list(3, gl.GL_TRIANGLES, corner=("f", corners))
        self.fit(width, height)

    def fit(self, width: int, height: int) -> None:
        """The window has another size. Shaders stay: whatever they were once linked for is kept
        for as long as the window is open."""
        self.width, self.height = max(1, width), max(1, height)
        gl.glBindFramebuffer(gl.GL_FRAMEBUFFER, self.frame)
        if self.samples:
            self._store(self.colour, gl.GL_RGBA8, gl.GL_COLOR_ATTACHMENT0)
        else:
            self._texture()
        self._store(self.depth, gl.GL_DEPTH24_STENCIL8, gl.GL_DEPTH_STENCIL_ATTACHMENT)
        self.complete = gl.glCheckFramebufferStatus(gl.GL_FRAMEBUFFER) == gl.GL_FRAMEBUFFER_COMPLETE
        gl.glBindFramebuffer(gl.GL_FRAMEBUFFER, 0)

    def begin(self, edges: Sequence[Box] | None = None) -> None:
        straight = self.software and edges is not None
        gl.glBindFramebuffer(gl.GL_FRAMEBUFFER, 0 if straight else self.frame)

    def show(self, edges: Sequence[Box] | None = None) -> None:
        """Into the window's own framebuffer, which stays bound."""
        gl.glBindFramebuffer(gl.GL_FRAMEBUFFER, 0)
        if self.samples:
            size = (0, 0, self.width, self.height)
            gl.glBindFramebuffer(gl.GL_READ_FRAMEBUFFER, self.frame)
            gl.glBlitFramebuffer(*size, *size, gl.GL_COLOR_BUFFER_BIT, gl.GL_NEAREST)
            gl.glBindFramebuffer(gl.GL_FRAMEBUFFER, 0)
            return
        gl.glDisable(gl.GL_DEPTH_TEST)
        gl.glDisable(gl.GL_BLEND)
        gl.glActiveTexture(gl.GL_TEXTURE0)
        gl.glBindTexture(gl.GL_TEXTURE_2D, self.colour)
        self.smooth.use()
        if not self.software:
            edges = None
        self.smooth["upright"] = 1.0 if edges is None else -1.0
        if edges is None:
            self.whole.draw(gl.GL_TRIANGLES)
            return
        boxes = [inside for box in edges if (inside := self._inside(box)) is not None]
        gl.glBindFramebuffer(gl.GL_DRAW_FRAMEBUFFER, self.frame)
        high = self.height
        for x, y, wide, tall in boxes:  # upside down, as a window's own rows lie: see `KeptPicture`
            copied((x, y, x + wide, y + tall), (x, high - y, x + wide, high - y - tall))
        gl.glBindFramebuffer(gl.GL_DRAW_FRAMEBUFFER, 0)
        gl.glEnable(gl.GL_SCISSOR_TEST)
        for x, y, wide, tall in boxes:
            gl.glScissor(x + 1, y + 1, wide - 2, tall - 2)  # each pixel looks at those beside it
            self.whole.draw(gl.GL_TRIANGLES)
        gl.glDisable(gl.GL_SCISSOR_TEST)

    def ready(self) -> None:
        """For boxes: with the first a software renderer translates what copies them, which takes it
        longer than a picture. What is in a corner of the window is to be drawn over."""
        if self.software:
            self.show([(0, 0, 8, 8)])

    def _inside(self, box: Box) -> Box | None:
        """The part of a box that lies in the picture, grown by the pixel that its rim looks at."""
        x0, y0 = max(0, box[0] - 1), max(0, box[1] - 1)
        x1 = min(self.width, box[0] + box[2] + 1)
        y1 = min(self.height, box[1] + box[3] + 1)
        return (x0, y0, x1 - x0, y1 - y0) if min(x1 - x0, y1 - y0) > 2 else None

    def delete(self) -> None:
        gl.glDeleteFramebuffers(1, self.frame)
        gl.glDeleteRenderbuffers(1, self.depth)
        if self.samples:
            gl.glDeleteRenderbuffers(1, self.colour)
        else:
            gl.glDeleteTextures(1, self.colour)
            self.whole.delete()

    def _store(self, buffer: gl.GLuint, kind: int, attachment: int) -> None:
        gl.glBindRenderbuffer(gl.GL_RENDERBUFFER, buffer)
        gl.glRenderbufferStorageMultisample(
            gl.GL_RENDERBUFFER, self.samples, kind, self.width, self.height
        )
        gl.glFramebufferRenderbuffer(gl.GL_FRAMEBUFFER, attachment, gl.GL_RENDERBUFFER, buffer)

    def _texture(self) -> None:
        gl.glBindTexture(gl.GL_TEXTURE_2D, self.colour)
        as_window(self.width, self.height)
        gl.glFramebufferTexture2D(
            gl.GL_FRAMEBUFFER, gl.GL_COLOR_ATTACHMENT0, gl.GL_TEXTURE_2D, self.colour, 0
        )


def new_canvas(width: int, height: int, renderer: str) -> Canvas:
    """Four samples on a card, edge softening in software or where four are refused."""
    software = is_software(renderer)
    canvas = Canvas(width, height, 0 if software else SAMPLES, software)
    if not canvas.complete and canvas.samples:
        canvas.delete()
        canvas = Canvas(width, height, 0, software)
    return canvas
