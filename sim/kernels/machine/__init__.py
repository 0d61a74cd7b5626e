"""How kernels reach the machine: code that is kept, loaded, and called by its address."""
