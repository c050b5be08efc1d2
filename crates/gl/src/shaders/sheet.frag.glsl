in vec2 uv;

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
    if (c.a < 0.01) discard;
    colour = c;
}
