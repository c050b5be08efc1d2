// One instance is one piece of a line; the four corners of its rectangle on the canvas are made here.
layout(location = 0) in vec4 from;      // world, lift
layout(location = 1) in vec4 to;        // world, half width in pixels
layout(location = 2) in vec4 before;    // the point before `from`, whether there is one
layout(location = 3) in vec4 after;     // the point after `to`, whether there is one
layout(location = 4) in vec4 tint;      // sRGB, alpha
layout(location = 5) in vec4 more;      // alpha of the hidden part

flat out vec4 ends;       // of the piece, pixels
flat out vec4 joins;      // directions that bound the piece at its two ends
flat out vec4 shown;      // half width, whether joined at the two ends, alpha of the hidden part
flat out vec4 shown_tint;

vec4 lifted(vec3 p, float lift) {
    vec3 away = eye.xyz - p * eye.w;
    return clip_from_world * vec4(p + normalize(away) * lift, 1.0);
}

vec2 pixel(vec4 clip) {
    return (clip.xy / clip.w * 0.5 + 0.5) * viewport.xy;
}

void main() {
    float lift = from.w;
    vec4 a = lifted(from.xyz, lift), b = lifted(to.xyz, lift);
    const float NEAR = 1e-3;
    if (a.w < NEAR && b.w < NEAR) { gl_Position = vec4(2.0, 2.0, 2.0, 1.0); return; }
    // A piece that runs behind the viewer is cut where it passes.
    if (a.w < NEAR) a = mix(a, b, (NEAR - a.w) / (b.w - a.w));
    if (b.w < NEAR) b = mix(b, a, (NEAR - b.w) / (a.w - b.w));
    vec2 pa = pixel(a), pb = pixel(b);
    vec2 along = pb - pa;
    float l = length(along);
    along = l > 1e-3 ? along / l : vec2(1.0, 0.0);
    vec2 across = vec2(-along.y, along.x);

    vec4 c = lifted(before.xyz, lift), d = lifted(after.xyz, lift);
    vec2 come = c.w > NEAR ? pa - pixel(c) : along;
    vec2 go = d.w > NEAR ? pixel(d) - pb : along;
    come = length(come) > 1e-3 ? normalize(come) : along;
    go = length(go) > 1e-3 ? normalize(go) : along;
    joins = vec4(along + come, along + go);
    ends = vec4(pa, pb);
    shown = vec4(to.w, before.w, after.w, more.x);
    shown_tint = tint;

    float grow = to.w + 1.0;
    bool far_end = gl_VertexID >= 2;
    float side = (gl_VertexID & 1) == 0 ? -1.0 : 1.0;
    vec2 p = (far_end ? pb + along * grow : pa - along * grow) + across * (side * grow);
    vec4 base = far_end ? b : a;
    gl_Position = vec4((p * viewport.zw * 2.0 - 1.0) * base.w, base.z, base.w);
}
