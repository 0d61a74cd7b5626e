"""The three programs the graphics card runs: solid things, grass, sky. Light on purpose.

Light is worked out at the corners; a pixel only mixes. Colours are as shown (sRGB). Haze grows
with distance as d^2 / (d^2 + k^2), cheap and close enough to the exponential law.
"""

from __future__ import annotations

from pyglet.graphics.shader import Shader, ShaderProgram

SOLID_VERTEX = """#version 330 core
in vec3 place; in vec3 normal; in vec3 colour; in vec3 paint; in vec3 spread;
uniform mat4 model; uniform mat4 camera; uniform vec3 eye; uniform vec3 sun;
uniform float grow;
out vec3 lit; out vec3 shade; out vec3 coat; out float haze;
void main() {
    vec4 world = model * vec4(place + grow * spread, 1.0);
    vec3 n = mat3(model) * normal;
    float day = max(dot(n, sun), 0.0);
    float sky = 0.5 - 0.5 * n.z;
    shade = mix(vec3(0.40, 0.42, 0.36), vec3(0.56, 0.62, 0.70), sky)
          + day * vec3(0.52, 0.48, 0.38);
    lit = colour;
    coat = paint;
    vec3 to = world.xyz - eye;
    float d2 = dot(to, to);
    haze = d2 / (d2 + 230000.0);
    gl_Position = camera * world;
}
"""

SOLID_FRAGMENT = """#version 330 core
in vec3 lit; in vec3 shade; in vec3 coat; in float haze;
uniform vec3 haze_colour; uniform float pitch; uniform float alpha; uniform float flat_colour;
out vec4 seen;
float stripe(float s, float share) {
    float soft = max(fwidth(s), 0.02);
    float near = abs(fract(s) - 0.5);
    return smoothstep(0.5 * share + soft, 0.5 * share - soft, near);
}
void main() {
    vec3 base = lit;
    if (coat.z > 0.5) {
        if (coat.z < 1.5) {
            float s = (coat.x - 0.75 * abs(coat.y)) / pitch + 0.1;
            base = mix(base, vec3(0.10, 0.23, 0.36), stripe(s, 0.42));
        } else if (coat.z < 2.5) {
            float a = stripe(coat.x / (0.62 * pitch), 0.5);
            float b = stripe(coat.y / (0.62 * pitch), 0.5);
            base = mix(vec3(0.95, 0.74, 0.24), vec3(0.14, 0.13, 0.14), a + b - 2.0 * a * b);
        } else {
            float s = (coat.x + coat.y) / (0.5 * pitch);
            base = mix(base, vec3(0.14, 0.13, 0.14), stripe(s, 0.45));
        }
    }
    seen = vec4(mix(base * shade, haze_colour, max(haze, flat_colour)), alpha);
}
"""

GRASS_VERTEX = """#version 330 core
in vec3 place; in vec2 plan;
uniform mat4 camera;
out vec2 spot; out vec2 where;
void main() {
    spot = plan;
    where = place.xy;
    gl_Position = camera * vec4(place, 1.0);
}
"""

# `plan` is metres (ahead of the pilot, to the right). The strip is mown in lanes up and down.
GRASS_FRAGMENT = """#version 330 core
in vec2 spot; in vec2 where;
uniform vec2 eye; uniform vec3 haze_colour; uniform vec4 strip;
out vec4 seen;
float grain(vec2 p) {
    vec2 cell = floor(p), f = p - cell;
    f = f * f * (3.0 - 2.0 * f);
    vec4 at = vec4(cell, cell + 1.0);
    vec4 mixed = fract(vec4(at.x, at.z, at.x, at.z) * 0.3183 + at.yyww * 0.4717);
    mixed = fract(mixed * mixed * 37.7 + mixed * 11.3);
    return mix(mix(mixed.x, mixed.y, f.x), mix(mixed.z, mixed.w, f.x), f.y);
}
void main() {
    vec2 to = where - eye;
    float d2 = dot(to, to);
    float near = 60.0 / (60.0 + sqrt(d2));
    float big = grain(spot * 0.09);
    float small = grain(spot * 1.9);
    vec3 base = mix(vec3(0.27, 0.41, 0.15), vec3(0.42, 0.50, 0.20), big);
    base *= 0.92 + 0.26 * (small - 0.4) * near;
    vec2 soft = max(fwidth(spot), 0.03);
    vec2 inside = smoothstep(strip.xy - soft, strip.xy + soft, spot)
                * smoothstep(strip.zw + soft, strip.zw - soft, spot);
    float lane = spot.y / 3.0;
    float width = max(fwidth(lane), 0.02);
    float tone = smoothstep(0.25 + width, 0.25 - width, abs(fract(lane) - 0.5));
    tone = mix(tone, 0.5, clamp(width * 2.0, 0.0, 1.0));
    vec3 mown = mix(vec3(0.47, 0.60, 0.25), vec3(0.56, 0.69, 0.32), tone);
    mown *= 0.94 + 0.14 * small * near;
    base = mix(base, mown, inside.x * inside.y);
    seen = vec4(mix(base, haze_colour, d2 / (d2 + 230000.0)), 1.0);
}
"""

SKY_VERTEX = """#version 330 core
in vec2 corner;
uniform mat3 turn; uniform vec2 reach;
out vec3 ray;
void main() {
    ray = turn * vec3(corner * reach, -1.0);
    gl_Position = vec4(corner, 0.99999, 1.0);
}
"""

SKY_FRAGMENT = """#version 330 core
in vec3 ray;
uniform vec3 sun; uniform vec3 haze_colour;
out vec4 seen;
void main() {
    vec3 way = ray * inversesqrt(dot(ray, ray));
    float up = max(-way.z, 0.0);
    float high = up / (up + 0.28);
    vec3 base = mix(haze_colour, vec3(0.16, 0.40, 0.72), high * 1.15);
    float s = max(dot(way, sun), 0.0);
    base += vec3(0.74, 0.68, 0.52) * (0.004 / (1.004 - s));
    // one grey level of noise hides the steps of eight bits
    float noise = fract(dot(gl_FragCoord.xy, vec2(0.7548777, 0.5698403)));
    seen = vec4(base + (noise - 0.5) / 255.0, 1.0);
}
"""

CLOUD_VERTEX = """#version 330 core
in vec3 place; in float density;
uniform mat4 camera;
out float thick;
void main() {
    thick = density;
    vec4 far = camera * vec4(place, 0.0);
    gl_Position = vec4(far.xy, 0.9999 * far.w, far.w);
}
"""

CLOUD_FRAGMENT = """#version 330 core
in float thick;
out vec4 seen;
void main() { seen = vec4(0.98, 0.97, 0.95, thick * thick * 0.5); }
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
