"""The three programs the graphics card runs: solid things, grass, sky. Light on purpose.

Light is worked out at the corners; a pixel only mixes. Colours are as shown (sRGB). Haze grows
with distance as d^2 / (d^2 + k^2), cheap and close enough to the exponential law.
"""

from __future__ import annotations

from pyglet.graphics.shader import Shader, ShaderProgram

SOLID_VERTEX = """#version 330 core
const float FOAM_PASSES = 1.0;
in vec3 place; in vec3 normal; in vec3 colour; in vec3 paint; in vec3 spread;
uniform mat4 model; uniform mat4 camera; uniform vec3 eye; uniform vec3 sun;
uniform vec3 sunlight; uniform vec3 above; uniform vec3 below; uniform float grow;
out vec3 lit; out vec3 shade; out vec3 coat; out float haze;
void main() {
    vec4 world = model * vec4(place + grow * spread, 1.0);
    vec3 n = mat3(model) * normal;
    float day = max(dot(n, sun), 0.0);
    float sky = 0.5 - 0.5 * n.z;
    day += FOAM_PASSES * max(-dot(n, sun), 0.0) * dot(spread, spread);  // thin sheets glow
    shade = mix(below, above, sky) + day * sunlight;
    lit = colour;
    coat = paint;
    vec3 to = world.xyz - eye;
    float d2 = dot(to, to);
    haze = d2 / (d2 + 230000.0);
    gl_Position = camera * world;
}
"""

# See `meshes` for the patterns. A rim is dark against the sky, light against what is dark: `edge`.
SOLID_FRAGMENT = """#version 330 core
in vec3 lit; in vec3 shade; in vec3 coat; in float haze;
uniform vec3 haze_colour; uniform vec3 edge; uniform float alpha; uniform float flat_colour;
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
        else if (coat.z < 4.5) base = edge;
        if (coat.z < 2.5 || coat.z > 3.5) base = mix(base, TIP, beyond(coat.y, 0.76, soft));
    }
    seen = vec4(mix(base * shade, haze_colour, max(haze, flat_colour)), alpha);
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

# `plan` is metres (ahead of the pilot, to the right) over the size of the tile of blades.
GRASS_VERTEX = """#version 330 core
in vec3 place; in vec2 plan; in vec3 tone;
uniform mat4 camera; uniform vec3 eye; uniform vec3 haze_colour;
out vec2 spot; out vec3 dark; out vec3 light;
void main() {
    spot = plan;
    vec3 to = place - eye;
    float d2 = dot(to, to);
    float haze = d2 / (d2 + 230000.0);
    dark = mix(0.62 * tone, haze_colour, haze);
    light = mix(0.76 * tone, haze_colour, haze) - mix(vec3(0.0), haze_colour, haze);
    gl_Position = camera * vec4(place, 1.0);
}
"""

GRASS_FRAGMENT = """#version 330 core
in vec2 spot; in vec3 dark; in vec3 light;
uniform sampler2D blades;
out vec4 seen;
void main() { seen = vec4(dark + light * texture(blades, spot).r, 1.0); }
"""

# Worked out on a grid over the picture: the sky has no edges.
SKY_VERTEX = """#version 330 core
in vec2 corner;
uniform mat3 turn; uniform vec2 reach; uniform vec3 sun; uniform vec3 haze_colour;
uniform vec3 zenith; uniform vec3 glow;
out vec3 shown;
void main() {
    vec3 way = normalize(turn * vec3(corner * reach, -1.0));
    float up = max(-way.z, 0.0);
    float high = up / (up + 0.28);
    shown = mix(haze_colour, zenith, high * 1.15);
    float s = max(dot(way, sun), 0.0);
    shown += glow * (0.004 / (1.004 - s));
    gl_Position = vec4(corner, 0.99999, 1.0);
}
"""

# One grey level of noise hides the steps of eight bits.
SKY_FRAGMENT = """#version 330 core
in vec3 shown;
out vec4 seen;
void main() {
    float noise = fract(gl_FragCoord.x * 0.7548777 + gl_FragCoord.y * 0.5698403);
    seen = vec4(shown + (noise * 0.0039 - 0.00195), 1.0);
}
"""

CLOUD_VERTEX = """#version 330 core
in vec3 place; in vec2 spot;
uniform mat4 camera;
out vec2 at;
void main() {
    at = spot;
    vec4 far = camera * vec4(place, 0.0);
    gl_Position = vec4(far.xy, 0.9999 * far.w, far.w);
}
"""

CLOUD_FRAGMENT = """#version 330 core
in vec2 at;
uniform sampler2D clouds; uniform vec3 base; uniform vec3 crown; uniform float share;
out vec4 seen;
void main() {
    vec2 cloud = texture(clouds, at).rg;
    seen = vec4(mix(base, crown, cloud.r), share * cloud.g);
}
"""

SMOOTH_VERTEX = """#version 330 core
in vec2 corner;
out vec2 spot;
void main() { spot = 0.5 * corner + 0.5; gl_Position = vec4(corner, 0.0, 1.0); }
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
