"""The version of isohume; it is printed on every record and certificate."""

__version__ = "0.1.0"
