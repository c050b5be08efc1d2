// 0–3 world corners: top left, top right, bottom right, bottom left, and in the last place left, top, right, bottom of the
// part of the picture; 4 alpha, outline width in pixels, whether the skin
// covers it beyond the opening, least alpha; 5 outline colour.
uniform vec4 sheet[6];

out vec2 uv;
out vec3 world;

void main() {
    bool right = gl_VertexID == 1 || gl_VertexID == 3;
    bool bottom = gl_VertexID >= 2;
    uv = vec2(right ? sheet[2].w : sheet[0].w, bottom ? sheet[3].w : sheet[1].w);
    vec4 corner = bottom ? (right ? sheet[2] : sheet[3]) : (right ? sheet[1] : sheet[0]);
    world = corner.xyz;
    gl_Position = clip_from_world * vec4(world, 1.0);
}
