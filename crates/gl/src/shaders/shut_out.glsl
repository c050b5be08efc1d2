// How much of its surroundings a point is shut out from by what rises round it.
uniform mediump sampler2D height_map;

const float GOLDEN = 2.39996323;

// Share shut out, 0…1, at `place` with normal `n`, from `count` looks at the map of heights.
float shut_out(vec3 place, vec3 n, int count) {
    vec3 at = (height_from_world * vec4(place, 1.0)).xyz;
    float span = height_scale.z;
    float reach = height_scale.w;
    vec3 along = height_along.xyz;
    vec3 across = cross(up.xyz, along);
    float sum = 0.0;
    for (int i = 0; i < count; ++i) {
        float a = float(i) * GOLDEN;
        float r = reach * mix(0.10, 1.0, (float(i) + 0.5) / float(count));
        vec2 o = vec2(cos(a), sin(a)) * r;
        float h = textureLod(height_map, at.xy + o * height_scale.xy, 0.0).r;
        vec3 v = along * o.x + across * o.y + up.xyz * ((h - at.z) * span);
        float l = length(v);
        sum += max(dot(n, v) / l - 0.08, 0.0) * (1.0 - smoothstep(0.8 * reach, 2.2 * reach, l));
    }
    // Below the rest surface the map knows nothing.
    float known = smoothstep(-0.12, 0.0, at.z);
    return clamp(sum / float(count) * 1.9, 0.0, 1.0) * known;
}
