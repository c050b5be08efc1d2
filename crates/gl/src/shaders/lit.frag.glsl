// Compiled three times: without CUTS for what is drawn whole, which keeps early depth; with CUTS for what may be cut
// away or translucent; with CUTS and DEPTH_ONLY for the depth of the latter.
centroid in vec3 world;
centroid in vec3 world_normal;
centroid in float shut;

uniform vec4 draw[7];
uniform mediump sampler2DShadow shadow_map;
uniform mediump sampler2D rest_map;

out vec4 colour;

#ifdef CUTS
const float FULL_ALPHA = 0.985;
// Length of the tube over its radius, as in opening.rs.
const float TUBE = 2.0;

// How far a point is from the middle of the opening, 1 at its edge. A tube is closed by a rounded end, and of what it
// holds only that counts which stands before the section: where the line of sight goes on to the tube's mouth.
float from_middle(float d) {
    vec3 q = world - cut_window.xyz;
    if (cut_more.z < 0.5) return length(q) / cut_window.w;
    q -= cut_plane.xyz * dot(cut_plane.xyz, q);
    vec2 share = vec2(dot(q, q) / (cut_window.w * cut_window.w), d / (TUBE * cut_window.w));
    share.y *= share.y;
    float inside = sqrt(sqrt(dot(share, share)));
    vec3 back = eye.xyz - world * eye.w;
    float rise = dot(cut_plane.xyz, back);
    if (rise < 1e-4) return max(inside, 2.0);
    q -= back * (d / rise) - cut_plane.xyz * d;
    return max(inside, length(q) / cut_window.w);
}
#endif

// Eight looks spread over a disc.
const vec2 LOOKS[8] = vec2[8](
    vec2(0.250, 0.000), vec2(-0.319, 0.292), vec2(0.049, -0.557), vec2(0.403, 0.525),
    vec2(-0.739, -0.131), vec2(0.699, -0.444), vec2(-0.234, 0.870), vec2(-0.447, -0.859));

// Share of the key light that arrives, 0…1.
float key_arrives(vec3 n, float to_key) {
    // Off the surface by as much more as it slants from the light, or the outer looks would find the surface itself.
    float off = shadow_scale.z * (1.0 + 2.9 * sqrt(max(1.0 - to_key * to_key, 0.0)));
    vec3 at = (shadow_from_world * vec4(world + n * off, 1.0)).xyz;
    if (any(lessThan(at, vec3(0.0))) || any(greaterThan(at, vec3(1.0)))) return 1.0;
    float sum = 0.0;
    for (int i = 0; i < 8; ++i) sum += texture(shadow_map, vec3(at.xy + LOOKS[i] * shadow_scale.xy * 0.4, at.z));
    return sum * 0.125;
}

// The colour of a surface under all lights, as sent to the screen.
vec3 shaded(vec3 n, vec3 v, float facing, bool back) {
    vec3 albedo = draw[3].rgb;
    float wrap = draw[4].x;
    float receive = draw[5].x;
    float grazing = 1.0 - facing;

    float to_key = dot(n, toward.xyz);
    float diffuse = clamp((to_key + wrap) / (1.0 + wrap), 0.0, 1.0);
    diffuse *= mix(1.0, diffuse, 0.5 * wrap);
    float upward = dot(n, up.xyz);
    float above = dot(up.xyz, world) - sky.w;

    float lit = 1.0;
    float closed = shut;
    if (receive > 0.0 && key.w > 0.5) {
        float strength = toward.w * receive;
        float rests = bounce.w * smoothstep(0.55, 0.85, upward) * (1.0 - smoothstep(2.0, 10.0, abs(above)));
        if (rests > 0.0) {
            vec2 at = (rest_from_world * vec4(world, 1.0)).xy;
            vec2 edge = min(at, 1.0 - at);
            vec2 known = textureLod(rest_map, at, 0.0).rg;
            float share = clamp(min(edge.x, edge.y) * 16.0, 0.0, 1.0);
            lit = mix(1.0, known.g, strength * rests * share);
            closed = mix(closed, known.r * share, rests);
        } else if (to_key > -0.02) {
            // At the terminator the map shades a surface by itself; the wrapped light has its say there instead.
            lit = mix(1.0, key_arrives(n, to_key), strength * smoothstep(-0.02, 0.3, to_key));
        }
    }
    float open = 1.0 - up.w * receive * closed;
    float low = (1.0 - smoothstep(0.0, height_scale.w, above)) * smoothstep(-25.0, 0.0, above);
    float under = 1.0 - receive * up.w * low * clamp(0.35 - 0.65 * upward, 0.0, 1.0);
    vec3 ambient = mix(bounce.rgb, sky.rgb, 0.5 + 0.5 * upward) + fill.rgb * facing;
    // Light that leaves a crevice has met the surface twice, so a bright surface darkens less, and warmer.
    float shade = open * under;
    vec3 kept = mix(vec3(shade), vec3(sqrt(shade)), 0.55 * albedo);

    vec3 light = key.rgb * (diffuse * lit * mix(1.0, open, 0.4)) + ambient * kept;
    vec3 result = albedo * light + sky.rgb * (draw[4].w * grazing * grazing * grazing * shade);
    if (draw[4].y > 0.0) {
        float sharp = draw[4].z;
        float glint = pow(max(dot(n, normalize(toward.xyz + v)), 0.0), sharp) * (sharp + 8.0) / 24.0;
        result += key.rgb * (draw[4].y * glint * lit * clamp(to_key * 3.0, 0.0, 1.0));
    }
    if (back) {
        vec3 flat_light = 0.5 * (sky.rgb + bounce.rgb) + 0.35 * key.rgb;
        result = mix(result, albedo * flat_light, draw[5].y);
    }
    return to_screen(result);
}

void main() {
    vec3 n = normalize(world_normal);
    bool back = !gl_FrontFacing;
    if (back) n = -n;
    vec3 v = normalize(eye.xyz - world * eye.w);
    float facing = abs(dot(n, v));
    float pass = draw[6].x;
    float alpha = pass == 4.0 ? draw[6].y : 1.0;
    bool gone = false;

#ifdef CUTS
    float d = dot(cut_plane.xyz, world) + cut_plane.w;
    float d_px = max(fwidth(d), 1e-4);
    float window = 0.0;
    float mode = draw[5].w;
    if (mode > 0.5) {
        float away = from_middle(d);
        if (mode < 1.5) {
            // Solids go where the skin begins to fade, so that a half-faded skin never shows their cut edge; and a pixel
            // past the plane, so that their rims do not sparkle through the sheet that lies in it.
            gone = d > -d_px && away < 1.0;
        } else {
            window = cut_more.w * (1.0 - smoothstep(1.0 - cut_more.x / cut_window.w, 1.0, away));
        }
    }
    // Of a translucent mesh, pass 1 is its solid part, 2 the depth and 3 the colour of what has faded, 5 the inner wall
    // that is seen past it; 4 shines through.
    if (pass > 0.5 && pass != 4.0) {
        // The skin reaches a pixel over the plane and covers the rim of the sheet.
        float fade = window * clamp(d / d_px - 0.5, 0.0, 1.0);
        float whole = draw[3].a;
        float edge = draw[5].z * (1.0 - facing) * (1.0 - facing);
        float left = cut_more.y + (1.0 - cut_more.y) * edge;
        alpha = mix(whole < 0.999 ? mix(whole, 1.0, edge) : 1.0, left, fade);
        bool faded = alpha < FULL_ALPHA;
        bool wall = back && whole >= 0.999;
        if (pass < 1.5) gone = faded;
        else if (pass > 4.5) gone = !(faded && wall);
        // A veil that shows more than it hides takes no depth: marks behind it count as plainly seen.
        else gone = !faded || wall || alpha < (pass < 2.5 ? 0.6 : 0.004);
        if (pass < 1.5 || pass > 4.5) alpha = 1.0;
    }
#endif

    vec3 shown = vec3(0.0);
#ifndef DEPTH_ONLY
    if (!gone) {
        shown = shaded(n, v, facing, back);
#ifdef CUTS
        if (fill.w > 0.0 && mode > 1.5 && !back) {
            float line = clamp(fill.w + 0.5 - abs(d) / d_px, 0.0, 1.0);
            shown = mix(shown, trace.rgb, line * trace.a * (1.0 - window));
        }
#endif
        shown += (scatter(gl_FragCoord.yx) - 0.5) / 255.0;
    }
#endif
    // Last, so that groups of pixels that are all gone skip the shading.
    if (gone) discard;
    colour = vec4(shown * alpha, alpha);
}
