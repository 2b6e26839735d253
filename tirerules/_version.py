"""The version of the library, in one place."""

__version__ = "1.2.0"
