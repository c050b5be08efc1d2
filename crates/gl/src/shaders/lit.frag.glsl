in vec3 world;
in vec3 world_normal;

uniform vec4 draw[7];
uniform mediump sampler2DShadow shadow_map;
uniform highp sampler2D shadow_depth;
uniform mediump sampler2D height_map;

out vec4 colour;

const float SOLID = 0.0;       // everything that is not translucent
const float FULL_PART = 1.0;   // of a translucent mesh what is solid
const float FADED_DEPTH = 2.0; // of a translucent mesh what is not, depth only
const float FADED_PART = 3.0;  // the same, colour
const float THROUGH = 4.0;     // what shines through something solid

const float FULL_ALPHA = 0.985;
const float GOLDEN = 2.39996323;

// How far the surface has faded, 0…1; drops the fragment when it is cut away for good.
float cut_fade(float mode) {
    if (cut_more.w < 0.5 || mode < 0.5) return 0.0;
    float d = dot(cut_plane.xyz, world) + cut_plane.w;
    vec3 q = world - cut_window.xyz;
    q -= cut_plane.xyz * (dot(cut_plane.xyz, q) * cut_more.z);
    float away = length(q);
    if (mode < 1.5) {
        // Solids go where the skin begins to fade, so that a half-faded skin never shows their cut edge.
        if (d > 0.0 && away < cut_window.w) discard;
        return 0.0;
    }
    float window = 1.0 - smoothstep(cut_window.w - cut_more.x, cut_window.w, away);
    float near_side = clamp(d / max(fwidth(d), 1e-4) + 0.5, 0.0, 1.0);
    return window * near_side;
}

// Share of the key light that arrives, 0…1: soft where the shade comes from afar, sharper near a contact.
float key_arrives(vec3 n, float turn) {
    vec3 at = (shadow_from_world * vec4(world + n * shadow_scale.z, 1.0)).xyz;
    if (any(lessThan(at.xy, vec2(0.0))) || any(greaterThan(at.xy, vec2(1.0)))) return 1.0;
    at.z = min(at.z, 1.0);
    float blockers = 0.0, distance_sum = 0.0;
    for (int i = 0; i < 8; ++i) {
        float a = float(i) * GOLDEN + turn;
        vec2 o = sqrt((float(i) + 0.5) / 8.0) * vec2(cos(a), sin(a)) * shadow_scale.xy;
        float depth = texture(shadow_depth, at.xy + o).r;
        float before = at.z - depth;
        if (before > 0.0) { blockers += 1.0; distance_sum += before; }
    }
    if (blockers < 0.5) return 1.0;
    // The soft edge grows with the distance to what blocks.
    float softness = clamp(distance_sum / blockers * shadow_scale.w, 0.16, 1.0);
    float sum = 0.0;
    for (int i = 0; i < 14; ++i) {
        float a = float(i) * GOLDEN + turn;
        vec2 o = sqrt((float(i) + 0.5) / 14.0) * vec2(cos(a), sin(a)) * shadow_scale.xy * softness;
        sum += texture(shadow_map, vec3(at.xy + o, at.z));
    }
    return sum / 14.0;
}

// How much of the surroundings is shut out by what rises round the point, 0…1, from a map of heights.
float shut_out(vec3 n, float turn) {
    vec3 at = (height_from_world * vec4(world, 1.0)).xyz;
    float span = height_scale.z;
    float reach = height_scale.w;
    vec3 along = height_along.xyz;
    vec3 across = cross(up.xyz, along);
    float sum = 0.0;
    for (int i = 0; i < 12; ++i) {
        float a = float(i) * GOLDEN + turn;
        float r = reach * mix(0.12, 1.0, (float(i) + 0.5) / 12.0);
        vec2 o = vec2(cos(a), sin(a)) * r;
        float h = texture(height_map, at.xy + o * height_scale.xy).r;
        vec3 v = along * o.x + across * o.y + up.xyz * ((h - at.z) * span);
        float l = length(v);
        float rise = max(dot(n, v) / l - 0.08, 0.0);
        sum += rise * (1.0 - smoothstep(0.8 * reach, 2.2 * reach, l));
    }
    // Below the rest surface the map knows nothing.
    float known = smoothstep(-0.12, 0.0, at.z);
    return clamp(sum / 12.0 * 1.9, 0.0, 1.0) * known;
}

void main() {
    float pass = draw[6].x;
    float fade = cut_fade(draw[5].w);
    vec3 n = normalize(world_normal);
    bool back = !gl_FrontFacing;
    if (back) n = -n;
    vec3 v = normalize(eye.xyz - world * eye.w);
    float facing = abs(dot(n, v));

    float alpha = 1.0;
    if (pass > 0.5 && pass < 3.5) {
        float edge = draw[5].z * (1.0 - facing) * (1.0 - facing);
        float whole = draw[3].a;
        float left = cut_more.y + (1.0 - cut_more.y) * edge;
        alpha = mix(mix(whole, 1.0, (1.0 - step(0.999, whole)) * edge), left, fade);
        if (pass < 1.5) {
            if (alpha < FULL_ALPHA) discard;
            alpha = 1.0;
        } else {
            if (alpha >= FULL_ALPHA || alpha < 0.004) discard;
            if (pass < 2.5) { colour = vec4(0.0); return; }
        }
    } else if (pass > 3.5) {
        alpha = draw[6].y;
    }

    vec3 albedo = draw[3].rgb;
    float wrap = draw[4].x;
    float receive = draw[5].x;
    float turn = scatter(gl_FragCoord.xy) * 6.2831853;

    float to_key = dot(n, toward.xyz);
    float diffuse = clamp((to_key + wrap) / (1.0 + wrap), 0.0, 1.0);
    diffuse *= mix(1.0, diffuse, 0.5 * wrap);
    float lit = 1.0;
    if (receive > 0.0 && key.w > 0.5 && to_key > -0.02) {
        // At the terminator the map shades a surface by itself; the wrapped light has its say there instead.
        lit = mix(1.0, key_arrives(n, turn), toward.w * receive * smoothstep(-0.02, 0.3, to_key));
    }
    float open = 1.0;
    if (receive > 0.0 && height_along.w > 0.5) {
        open = 1.0 - up.w * receive * shut_out(n, turn);
    }
    float upward = dot(n, up.xyz);
    float above = dot(up.xyz, world) - sky.w;
    float low = 1.0 - smoothstep(0.0, height_scale.w, above);
    float under = 1.0 - receive * up.w * low * clamp(0.35 - 0.65 * upward, 0.0, 1.0);
    vec3 ambient = mix(bounce.rgb, sky.rgb, 0.5 + 0.5 * upward) + fill.rgb * facing;
    // Light that leaves a crevice has met the surface twice, so a bright surface darkens less, and warmer.
    float shade = open * under;
    vec3 kept = mix(vec3(shade), vec3(sqrt(shade)), 0.55 * albedo);

    vec3 h = normalize(toward.xyz + v);
    float sharp = exp2(2.0 + 6.5 * draw[4].z);
    float glint = draw[4].y * (sharp + 8.0) / 24.0 * pow(max(dot(n, h), 0.0), sharp) * clamp(to_key * 3.0, 0.0, 1.0);
    float rim = draw[4].w * pow(1.0 - facing, 3.0);

    vec3 light = key.rgb * (diffuse * lit) * mix(1.0, open, 0.4) + ambient * kept;
    vec3 result = albedo * light + key.rgb * (glint * lit) + sky.rgb * (rim * shade);
    if (back) {
        vec3 flat_light = 0.5 * (sky.rgb + bounce.rgb) + 0.35 * key.rgb;
        result = mix(result, albedo * flat_light, draw[5].y);
    }
    vec3 shown = to_screen(result) + (scatter(gl_FragCoord.yx) - 0.5) / 255.0;
    colour = vec4(shown * alpha, alpha);
}
