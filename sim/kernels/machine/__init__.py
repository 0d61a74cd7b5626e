"""How kernels reach the machine: translated, kept, loaded, and called by their address."""
