"""Find the fault in an engine converted from a carburettor to throttle-body fuel injection."""

__version__ = "0.2.0"
