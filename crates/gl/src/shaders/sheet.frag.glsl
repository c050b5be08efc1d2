in vec2 uv;
in vec3 world;

uniform vec4 sheet[6];
uniform sampler2D picture;

out vec4 colour;

void main() {
    // There are no smaller copies of the picture: four samples in the pixel's own shape stand in for them.
    vec2 dx = dFdx(uv), dy = dFdy(uv);
    vec4 c = texture(picture, uv + 0.125 * dx + 0.375 * dy)
           + texture(picture, uv - 0.125 * dx - 0.375 * dy)
           + texture(picture, uv + 0.375 * dx - 0.125 * dy)
           + texture(picture, uv - 0.375 * dx + 0.125 * dy);
    c *= 0.25;
    if (sheet[4].y > 0.0) {
        vec2 inward = min(uv, 1.0 - uv) / max(fwidth(uv), vec2(1e-6));
        float line = clamp(sheet[4].y + 0.5 - min(inward.x, inward.y), 0.0, 1.0) * sheet[5].a;
        c = c * (1.0 - line) + vec4(sheet[5].rgb, 1.0) * line;
    }
    c *= sheet[4].x;
    if (sheet[4].z > 0.5) {
        // A picture's edge stands out of the skin by part of a pixel; where the skin is whole it must not show, and an
        // arm at the rim of the opening must not flash its own section.
        vec3 q = world - cut_window.xyz;
        if (cut_more.z > 0.5) q -= cut_plane.xyz * dot(cut_plane.xyz, q);
        float open = cut_more.w * (1.0 - smoothstep(1.0 - cut_more.x / cut_window.w, 1.0, length(q) / cut_window.w));
        c *= smoothstep(0.25, 0.75, open);
    }
    if (c.a < sheet[4].w) discard;
    colour = c;
}
