"""A ball that falls by itself, far from everything."""

from balltravel.closures.drag import cage_fall_speed


def terminal_speed(
    diameter: float, ball_density: float, density: float, viscosity: float, gravity: float
) -> float:
    """Steady speed of a ball in open liquid [m/s], positive downwards: cage_fall_speed without a cage."""
    return cage_fall_speed(diameter, ball_density, density, viscosity, gravity, 1.0, 0.0)
