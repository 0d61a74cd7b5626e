"""What flies, compiled: numbers and small arrays in, forces and motion out; kernels only."""
