"""plangen: measured drawings and plan sets for work whose parts slope, splay and taper."""

__version__ = "0.1.0"
