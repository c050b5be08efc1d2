in float down;
out vec4 colour;

void main() {
    vec3 c = mix(back_top.rgb, back_bottom.rgb, smoothstep(0.0, 1.0, down));
    // A gradient this shallow shows steps unless it is dithered.
    colour = vec4(c + (scatter(gl_FragCoord.xy) - 0.5) / 255.0, 1.0);
}
