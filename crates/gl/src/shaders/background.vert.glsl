out float down;

void main() {
    // One triangle over the whole canvas.
    vec2 p = vec2(gl_VertexID == 1 ? 3.0 : -1.0, gl_VertexID == 2 ? 3.0 : -1.0);
    down = 0.5 - 0.5 * p.y;
    gl_Position = vec4(p, 0.0, 1.0);
}
