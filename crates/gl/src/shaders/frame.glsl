// What every shader knows of a frame. The order and the padding are those of frame_block.rs.
layout(std140) uniform FrameBlock {
    mat4 clip_from_world;
    mat4 shadow_from_world;   // 0…1 across the shadow map and along its depth
    mat4 height_from_world;   // 0…1 across the height map; z is the height above the rest surface, 0…1 of its span
    mat4 rest_from_world;     // 0…1 across the map of the rest surface
    vec4 eye;                 // xyz and 1, or for parallel sight the direction to the viewer and 0
    vec4 viewport;            // width, height, 1/width, 1/height in pixels
    vec4 toward;              // xyz unit, w strength of the shadow
    vec4 key;                 // rgb, w whether there is a shadow map
    vec4 sky;                 // rgb, w height of the rest surface
    vec4 bounce;              // rgb, w whether there are the height map and the map of the rest surface
    vec4 fill;                // rgb, w half width of the plane's line on a cut surface, pixels
    vec4 up;                  // xyz unit, w strength of the occlusion
    vec4 shadow_scale;        // softness across the map (xy), bias in world units, map depth over the distance of full softness
    vec4 height_scale;        // 1 / world unit across the map (xy), span of heights, reach
    vec4 height_along;        // xyz: world direction of the height map's first axis
    vec4 cut_plane;           // n, d
    vec4 cut_window;          // centre, radius
    vec4 cut_more;            // feather, ghost, 1 for a tube and 0 for a ball, how far it is opened 0…1
    vec4 trace;               // rgba of the plane's line, sRGB
    vec4 back_top;            // rgb
    vec4 back_bottom;         // rgb
};

// Linear light to what a screen is sent: IEC 61966-2-1 to within 1/400, by square roots, which cost a third of powers.
vec3 to_screen(vec3 c) {
    c = clamp(c, 0.0, 1.0);
    vec3 s1 = sqrt(c), s2 = sqrt(s1), s3 = sqrt(s2);
    return max(0.585122381 * s1 + 0.783140355 * s2 - 0.368262736 * s3, vec3(0.0));
}

// A fixed, even scatter over the pixels, 0…1 (interleaved gradient noise: J. Jimenez, SIGGRAPH 2014 course notes).
float scatter(vec2 pixel) {
    return fract(52.9829189 * fract(dot(pixel, vec2(0.06711056, 0.00583715))));
}
