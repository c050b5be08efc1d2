// How much of its surroundings a point is shut out from by what rises round it.
uniform mediump sampler2D height_map;

const float GOLDEN = 2.39996323;

// Eight directions, turned a little from ring to ring so that no direction is looked in twice.
const vec2 ROSE[8] = vec2[8](
    vec2(0.9801, 0.1987), vec2(0.5525, 0.8335), vec2(-0.1987, 0.9801), vec2(-0.8335, 0.5525),
    vec2(-0.9801, -0.1987), vec2(-0.5525, -0.8335), vec2(0.1987, -0.9801), vec2(0.8335, -0.5525));

// Share shut out, 0…1, at `place` with normal `n`, from 8 looks at the map of heights on each of
// `rings` circles, the smallest beyond `least` of the reach. Where it is asked for once a corner, a larger least keeps
// what lies between the corners smooth.
float shut_out(vec3 place, vec3 n, float least, int rings) {
    vec3 at = (height_from_world * vec4(place, 1.0)).xyz;
    float span = height_scale.z;
    float reach = height_scale.w;
    vec3 along = height_along.xyz;
    vec3 across = cross(up.xyz, along);
    float sum = 0.0;
    for (int ring = 0; ring < rings; ++ring) {
        float r = reach * mix(least, 1.0, (float(ring) + 0.5) / float(rings));
        float turn = float(ring) * GOLDEN;
        vec2 t = vec2(cos(turn), sin(turn));
        float near = 1.0 - smoothstep(0.3 * reach, 1.1 * reach, r);
        for (int i = 0; i < 8; ++i) {
            vec2 o = r * vec2(ROSE[i].x * t.x - ROSE[i].y * t.y, ROSE[i].x * t.y + ROSE[i].y * t.x);
            float h = textureLod(height_map, at.xy + o * height_scale.xy, 0.0).r;
            vec3 v = along * o.x + across * o.y + up.xyz * ((h - at.z) * span);
            float l = length(v);
            sum += max(dot(n, v) / l - 0.1, 0.0) * (0.25 + 0.75 * near) * (1.0 - smoothstep(0.8 * reach, 2.4 * reach, l));
        }
    }
    // Below the rest surface the map knows nothing.
    float known = smoothstep(-0.12, 0.0, at.z);
    return clamp(sum / float(rings * 8) * 2.6, 0.0, 1.0) * known;
}
