layout(location = 0) in vec3 position;
layout(location = 1) in vec3 normal;

// 0–2 rows of the model matrix, 3 colour (linear, alpha), 4 wrap specular sharpness rim,
// 5 receive inside edge-alpha cut-mode, 6 pass, hidden alpha, whether shut in is worth knowing.
uniform vec4 draw[7];

// Taken inside the covered part of a pixel: at its middle a sliver's values would lie far outside the triangle, and
// outlines would sparkle.
centroid out vec3 world;
centroid out vec3 world_normal;
centroid out float shut;

invariant gl_Position;

void main() {
    vec4 p = vec4(position, 1.0);
    world = vec3(dot(draw[0], p), dot(draw[1], p), dot(draw[2], p));
    // The cofactor matrix keeps normals square to the surface under any scaling.
    vec3 a = draw[0].xyz, b = draw[1].xyz, c = draw[2].xyz;
    world_normal = vec3(dot(cross(b, c), normal), dot(cross(c, a), normal), dot(cross(a, b), normal));
    shut = 0.0;
    if (draw[6].z > 0.5 && bounce.w > 0.5) {
        // Crevices are broad and bodies finely meshed: once a corner is enough.
        shut = shut_out(world, normalize(world_normal), 0.3, 4);
    }
    gl_Position = clip_from_world * vec4(world, 1.0);
}
