"""The programs the graphics card runs: solid things, grass, leaves, water, sky. Light on purpose.

Light is worked out at the corners; a pixel only mixes. Colours are as shown (sRGB). Haze grows
with distance as d^2 / (d^2 + k^2), cheap and close enough to the exponential law.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from pyglet import gl
from pyglet.graphics.shader import Shader, ShaderProgram

from firstthrow.scenes.world.meshes import distinct

SOLID_VERTEX = """#version 330 core
const float FOAM_PASSES = 1.0; const float SKY_PASSES = 0.28;
in vec3 place; in vec3 normal; in vec3 colour; in vec3 paint; in vec3 spread;
uniform mat4 model; uniform mat4 camera; uniform vec3 eye; uniform vec3 sun;
uniform vec3 sunlight; uniform vec3 above; uniform vec3 below; uniform float grow;
uniform vec3 haze_colour; uniform vec3 edge; uniform float alpha; uniform float flat_colour;
out vec3 lit; out vec3 shade; out vec3 coat; out float haze;
flat out vec3 far; flat out vec3 rim; flat out float cover;
void main() {
    far = haze_colour;
    rim = edge;
    cover = alpha;
    vec4 world = model * vec4(place + grow * spread, 1.0);
    vec3 n = mat3(model) * normal;
    float day = max(dot(n, sun), 0.0);
    float sky = 0.5 - 0.5 * n.z;
    day += FOAM_PASSES * max(-dot(n, sun), 0.0) * dot(spread, spread);  // thin sheets glow
    shade = mix(below, above, sky) + day * sunlight;
    shade += SKY_PASSES * max(n.z, 0.0) * dot(spread, spread) * above;  // so does the sky's light
    lit = colour;
    coat = paint;
    vec3 to = world.xyz - eye;
    float d2 = dot(to, to);
    haze = max(d2 / (d2 + 230000.0), flat_colour);
    gl_Position = camera * world;
}
"""

# See `meshes` for the patterns. A rim is dark against the sky, light against what is dark: `edge`.
SOLID_FRAGMENT = """#version 330 core
in vec3 lit; in vec3 shade; in vec3 coat; in float haze;
flat in vec3 far; flat in vec3 rim; flat in float cover;
out vec4 seen;
const vec3 DARK = vec3(0.05, 0.11, 0.20);
const vec3 TIP = vec3(0.82, 0.20, 0.05);
float beyond(float value, float limit, float soft) {
    return smoothstep(limit - soft, limit + soft, value);
}
void main() {
    vec3 base = lit;
    if (coat.z > 0.5) {
        float across = abs(coat.y);
        float soft = max(fwidth(coat.y), 0.004);
        if (coat.z < 1.5) base = mix(base, DARK, beyond(across, 0.14 + 0.36 * coat.x, soft));
        else if (coat.z < 2.5) base = mix(DARK, base, beyond(across, 0.30, soft));
        else if (coat.z < 3.5) base = mix(DARK, base, beyond(coat.y, 0.5, soft));
        else if (coat.z < 4.5) base = rim;
        if (coat.z < 2.5 || coat.z > 3.5) base = mix(base, TIP, beyond(coat.y, 0.76, soft));
    }
    seen = vec4(mix(base * shade, far, haze), cover);
}
"""

# What never moves has its light in its colours.
STILL_VERTEX = """#version 330 core
in vec3 place; in vec3 tone;
uniform mat4 model; uniform mat4 camera; uniform vec3 eye; uniform vec3 haze_colour;
out vec3 shown;
void main() {
    vec4 world = model * vec4(place, 1.0);
    vec3 to = world.xyz - eye;
    float d2 = dot(to, to);
    shown = mix(tone, haze_colour, d2 / (d2 + 230000.0));
    gl_Position = camera * world;
}
"""

STILL_FRAGMENT = """#version 330 core
in vec3 shown;
out vec4 seen;
void main() { seen = vec4(shown, 1.0); }
"""

# `plan` is metres (ahead of the pilot, to the right) over the size of the tile of blades. A pixel
# is as long on level ground as the square of `root` says, in texels of the finest level.
GRASS_VERTEX = """#version 330 core
in vec3 place; in vec2 plan; in vec3 tone;
uniform mat4 camera; uniform vec3 eye; uniform vec3 haze_colour; uniform float shrinks;
out vec2 spot; out vec3 dark; out vec3 light; out float root;
void main() {
    spot = plan;
    vec3 to = place - eye;
    float d2 = dot(to, to);
    float haze = d2 / (d2 + 230000.0);
    dark = mix(0.62 * tone, haze_colour, haze);
    light = mix(0.76 * tone, haze_colour, haze) - mix(vec3(0.0), haze_colour, haze);
    gl_Position = camera * vec4(place, 1.0);
    root = shrinks * gl_Position.w;
}
"""

# The layer is the logarithm of the square of `root`, to which half is added to round it: read off
# the exponent of a float. See `turf.layers` for what is in a texel. Half of one is taken off, since
# the place of each is its middle; it is read there, so that no rounding takes the one beside it.
# Of a layer that repeats, only its first part is read, which stays near the processor.
GRASS_FRAGMENT = """#version 330 core
in vec2 spot; in vec3 dark; in vec3 light; in float root;
uniform sampler2DArray blades;
out vec4 seen;
void main() {
    int level = clamp((floatBitsToInt(root * root) >> 23) - 127, 0, 8);
    vec2 at = fract(spot) * intBitsToFloat((135 - level) << 23) - 0.5;
    vec2 share = fract(at);
    vec4 four = texture(blades, vec3((at - share + 0.5) / 256.0, float(level)));
    vec2 two = four.xz + share.x * (four.yw - four.xz);
    seen = vec4(dark + light * (two.x + share.y * (two.y - two.x)), 1.0);
}
"""

# The colour of the sky in a direction, for whoever looks there; no edges.
SKY_COLOUR = """
uniform vec3 sun; uniform vec3 haze_colour; uniform vec3 zenith; uniform vec3 glow;
vec3 sky_colour(vec3 way) {
    float up = max(-way.z, 0.0);
    float high = up / (up + 0.28);
    float s = max(dot(way, sun), 0.0);
    return mix(haze_colour, zenith, high * 1.15) + glow * (0.004 / (1.004 - s));
}
"""

# Worked out on a grid over the picture. One grey level of noise hides the steps of eight bits:
# `grain` is half of what it grows by across the picture and up, of which the fraction counts.
SKY_VERTEX = (
    """#version 330 core
in vec2 corner;
uniform mat3 turn; uniform vec2 reach; uniform vec2 grain;
out vec3 shown; out float noise;
"""
    + SKY_COLOUR
    + """
void main() {
    shown = sky_colour(normalize(turn * vec3(corner * reach, -1.0))) - 0.00195;
    noise = dot(corner, grain);
    gl_Position = vec4(corner, 1.0, 1.0);
}
"""
)

SKY_FRAGMENT = """#version 330 core
in vec3 shown; in float noise;
out vec4 seen;
void main() { seen = vec4(shown + 0.0039 * fract(noise), 1.0); }
"""

# Flat pictures of what grows: `along` [m] is half of a strip that stands where it stands, and
# nothing for what turns to the eye, leaning back from one above it. `reach`: metres aside and up.
FOLIAGE_VERTEX = """#version 330 core
in vec3 foot; in vec3 along; in vec2 reach; in vec2 spot; in vec3 tint;
uniform mat4 camera; uniform vec3 eye; uniform vec3 sun;
uniform vec3 sunlight; uniform vec3 above; uniform vec3 below; uniform vec3 haze_colour;
out vec2 at; flat out vec3 leaf; flat out vec3 towards;
flat out vec3 day; flat out vec3 low; flat out vec3 high; flat out vec3 veil;
void main() {
    vec3 to = foot - eye;
    float level = max(length(to.xy), 0.01);
    vec3 away = vec3(to.xy / level, 0.0);
    vec3 across = vec3(-away.y, away.x, 0.0);
    vec3 up = vec3(0.0, 0.0, -1.0);
    vec3 place = foot + reach.x * along + reach.y * up;
    if (dot(along, along) < 1e-6) {
        up = normalize(up + away * clamp(0.8 * to.z / level, 0.0, 1.0));
        place = foot + reach.x * across + reach.y * up;
    }
    towards = vec3(dot(sun, across), dot(sun, up), dot(sun, cross(up, across)));
    at = spot;
    leaf = tint;
    to = place - eye;
    float d2 = dot(to, to);
    float haze = d2 / (d2 + 230000.0);
    day = (1.0 - haze) * sunlight;
    low = (1.0 - haze) * below;
    high = (1.0 - haze) * (above - below);
    veil = haze * haze_colour;
    gl_Position = camera * vec4(place, 1.0);
    if (dot(cross(along, vec3(0.0, 0.0, 1.0)), foot - eye) > 0.0)
        gl_Position = vec4(2.0, 2.0, 2.0, 1.0);  // a strip is seen from one side
}
"""

# See `leaves` for what the picture says. What is the same for a whole plant comes from its corners:
# a software renderer takes longer to look up a uniform at every pixel.
FOLIAGE_FRAGMENT = """#version 330 core
in vec2 at; flat in vec3 leaf; flat in vec3 towards;
flat in vec3 day; flat in vec3 low; flat in vec3 high; flat in vec3 veil;
uniform sampler2D leaves;
out vec4 seen;
const vec3 BARK = vec3(0.33, 0.27, 0.22) / 0.075;
void main() {
    vec4 here = texture(leaves, at);
    if (here.a < 0.28) discard;
    vec2 facing = 2.0 * here.gb - 1.0;
    float out_of_it = sqrt(max(0.0, 1.0 - dot(facing, facing)));
    float lit = max(dot(vec3(facing, out_of_it), towards), 0.0);
    vec3 light = low + here.b * high + lit * day;
    float leafy = clamp(8.0 * here.r - 1.1, 0.0, 1.0);
    vec3 base = mix(BARK, leaf * (0.35 / max(here.r, 0.1) + 1.1), leafy);
    base = mix(base, vec3(0.95, 0.92, 4.0 * leaf.b), step(0.95, here.r));  // flowers
    seen = vec4(here.r * base * light + veil, here.a);
}
"""

# Water mirrors the sky by the angle it is seen at. Source: Schlick's form of Fresnel's equations
# (1994), with 0.02 for water straight from above. Ripples turn what is seen of it towards the eye:
# a slope of 0.055 is that of a calm (Cox and Munk 1954, mean square 0.003; from memory). `bank`
# says how much of the far bank is mirrored.
WATER_VERTEX = """#version 330 core
in vec3 place; in float bank;
uniform mat4 camera; uniform vec3 eye;
out vec3 to; out float banked;
void main() {
    to = place - eye;
    banked = bank;
    gl_Position = camera * vec4(place, 1.0);
}
"""
WATER_FRAGMENT = (
    """#version 330 core
in vec3 to; in float banked;
uniform vec3 deep; uniform vec3 bank_colour;
out vec4 seen;
"""
    + SKY_COLOUR
    + """
const float RIPPLE = 0.055;
void main() {
    vec3 way = normalize(to);
    float down = max(way.z, 0.0);
    float facing = down + RIPPLE * (1.0 - down);
    float mirrored = 0.02 + 0.98 * pow(1.0 - facing, 5.0);
    vec3 sky = sky_colour(normalize(vec3(way.xy, -down - 2.0 * RIPPLE * (1.0 - down))));
    vec3 image = mix(sky, bank_colour, banked);
    vec3 over = sqrt(mix(deep * deep, image * image, mirrored));  // light adds up, shades do not
    float d2 = dot(to, to);
    seen = vec4(mix(over, haze_colour, d2 / (d2 + 230000.0)), 1.0);
}
"""
)

CLOUD_VERTEX = """#version 330 core
in vec3 place; in vec2 spot;
uniform mat4 camera; uniform vec3 base; uniform vec3 crown; uniform float share;
out vec2 at; flat out vec3 low; flat out vec3 high; flat out float dense;
void main() {
    at = spot;
    low = base;
    high = crown - base;
    dense = share;
    vec4 far = camera * vec4(place, 0.0);
    gl_Position = far.xyww;
}
"""

CLOUD_FRAGMENT = """#version 330 core
in vec2 at; flat in vec3 low; flat in vec3 high; flat in float dense;
uniform sampler2D clouds;
out vec4 seen;
void main() {
    vec2 cloud = texture(clouds, at).rg;
    seen = vec4(low + cloud.r * high, dense * cloud.g);
}
"""

SMOOTH_VERTEX = """#version 330 core
in vec2 corner;
uniform float upright;
out vec2 spot;
void main() {
    spot = 0.5 * corner * vec2(1.0, upright) + 0.5;
    gl_Position = vec4(corner, 0.0, 1.0);
}
"""

# A pixel that stands out from its four neighbours is mixed with the one across the edge: the
# more it is alone, the more of it, so that stairs go and straight edges stay crisp. Source: the
# sub-pixel part of T. Lottes, "FXAA" white paper (2009); brightness is taken as the green.
SMOOTH_FRAGMENT = """#version 330 core
in vec2 spot;
uniform sampler2D sharp;
out vec4 seen;
void main() {
    vec3 c = texture(sharp, spot).rgb;
    vec3 n = textureOffset(sharp, spot, ivec2(0, 1)).rgb;
    vec3 s = textureOffset(sharp, spot, ivec2(0, -1)).rgb;
    vec3 e = textureOffset(sharp, spot, ivec2(1, 0)).rgb;
    vec3 w = textureOffset(sharp, spot, ivec2(-1, 0)).rgb;
    float low = min(c.g, min(min(n.g, s.g), min(e.g, w.g)));
    float high = max(c.g, max(max(n.g, s.g), max(e.g, w.g)));
    float span = high - low;
    float alone = abs(0.25 * (n.g + s.g + e.g + w.g) - c.g) / (span + 0.001);
    float share = smoothstep(0.04, 0.75, alone) * clamp(span * 16.0 - 0.6, 0.0, 1.0);
    bool upright = abs(n.g + s.g - 2.0 * c.g) >= abs(e.g + w.g - 2.0 * c.g);
    vec3 one = upright ? n : e, other = upright ? s : w;
    vec3 across = abs(one.g - c.g) >= abs(other.g - c.g) ? one : other;
    seen = vec4(mix(c, across, 0.62 * share), 1.0);
}
"""


def program(vertex: str, fragment: str) -> ShaderProgram:
    """Raises pyglet's ShaderException with the compiler's words."""
    return ShaderProgram(Shader(vertex, "vertex"), Shader(fragment, "fragment"))


def triangles(program: ShaderProgram, **rows: np.ndarray):
    """A list of triangles in the card's memory, of (3n, ...) rows a corner: corners that are the
    same are kept once, and so is what the program works out at them."""
    flat = [row.reshape(len(row), -1).astype(np.float32) for row in rows.values()]
    found, which = distinct(np.concatenate(flat, axis=1))
    parts = np.split(found, np.cumsum([part.shape[1] for part in flat])[:-1], axis=1)
    data: dict[str, Any] = {
        name: ("f", part.ravel().tolist()) for name, part in zip(rows, parts, strict=True)
    }
    return program.vertex_list_indexed(len(found), gl.GL_TRIANGLES, which.ravel().tolist(), **data)
