"""Compiled kernels on plain numbers in SI units: the physics, its closures in use, the integrator."""
