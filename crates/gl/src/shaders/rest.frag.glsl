// The rest surface seen from above: how shut out each point is (r), how much of the key light arrives (g).
// Drawn rarely and looked up once a pixel, so it can afford to look often.
in vec2 across;

uniform mat4 world_from_rest;
uniform mediump sampler2DShadow shadow_map;
uniform highp sampler2D shadow_depth;

out vec4 colour;

// Soft where the shade comes from afar, sharper near a contact (R. Fernando, "Percentage-closer soft shadows",
// SIGGRAPH 2005 sketches).
float key_arrives(vec3 place) {
    vec3 at = (shadow_from_world * vec4(place + up.xyz * shadow_scale.z, 1.0)).xyz;
    at.z = min(at.z, 1.0);
    float blockers = 0.0, before = 0.0;
    const int SEARCH = 24, TAPS = 72;
    for (int i = 0; i < SEARCH; ++i) {
        float a = float(i) * GOLDEN;
        vec2 o = sqrt((float(i) + 0.5) / float(SEARCH)) * vec2(cos(a), sin(a)) * shadow_scale.xy;
        float gap = at.z - texture(shadow_depth, at.xy + o).r;
        if (gap > 0.0) { blockers += 1.0; before += gap; }
    }
    float softness = blockers > 0.5 ? clamp(before / blockers * shadow_scale.w, 0.25, 1.0) : 1.0;
    float sum = 0.0;
    for (int i = 0; i < TAPS; ++i) {
        float a = float(i) * GOLDEN;
        vec2 o = sqrt((float(i) + 0.5) / float(TAPS)) * vec2(cos(a), sin(a)) * shadow_scale.xy * softness;
        vec2 p = at.xy + o;
        bool inside = all(greaterThan(p, vec2(0.0))) && all(lessThan(p, vec2(1.0)));
        sum += inside ? texture(shadow_map, vec3(p, at.z)) : 1.0;
    }
    return sum / float(TAPS);
}

void main() {
    vec3 place = (world_from_rest * vec4(across, 0.0, 1.0)).xyz;
    // The map's box has its own depth; the point wanted is the one at the height of rest.
    place += up.xyz * (sky.w - dot(up.xyz, place));
    colour = vec4(shut_out(place, up.xyz, 0.06, 14), key_arrives(place), 0.0, 1.0);
}
