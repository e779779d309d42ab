"""Constants shared by the physics floor."""

from __future__ import annotations

GRAVITY = 9.80665
"""Standard acceleration of gravity [m/s2] (CGPM 1901)."""
