"""Yardfall plans a buried drain that carries roof and sump water away by gravity."""

__version__ = "0.1.0"
