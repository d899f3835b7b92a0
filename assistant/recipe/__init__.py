"""What is computed: heat, dwell, cooling, fingers, length, tension, supply. Pure."""
