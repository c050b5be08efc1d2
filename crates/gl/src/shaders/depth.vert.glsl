layout(location = 0) in vec3 position;

uniform vec4 draw[7];
uniform mat4 clip_from_scene;

out float height;

void main() {
    vec4 p = vec4(position, 1.0);
    vec3 world = vec3(dot(draw[0], p), dot(draw[1], p), dot(draw[2], p));
    gl_Position = clip_from_scene * vec4(world, 1.0);
    // Seen from above, near is high.
    height = 0.5 - 0.5 * gl_Position.z;
}
