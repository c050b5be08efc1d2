flat in vec4 ends;
flat in vec4 joins;
flat in vec4 shown;
flat in vec4 shown_tint;

uniform float hidden;

out vec4 colour;

void main() {
    vec2 p = gl_FragCoord.xy;
    vec2 a = ends.xy, b = ends.zw;
    // Each pixel near a joint belongs to one of the two pieces only, so a thin line's alpha never doubles.
    if (shown.y > 0.5 && dot(p - a, joins.xy) <= 0.0) discard;
    if (shown.z > 0.5 && dot(p - b, joins.zw) > 0.0) discard;
    vec2 ab = b - a;
    float t = clamp(dot(p - a, ab) / max(dot(ab, ab), 1e-6), 0.0, 1.0);
    float away = length(p - a - ab * t);
    float cover = clamp(shown.x + 0.5 - away, 0.0, 1.0);
    float alpha = cover * shown_tint.a * mix(1.0, shown.w, hidden);
    if (alpha < 0.004) discard;
    colour = vec4(shown_tint.rgb * alpha, alpha);
}
