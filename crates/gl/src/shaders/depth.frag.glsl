in float height;
out vec4 colour;

void main() {
    colour = vec4(height, 0.0, 0.0, 1.0);
}
