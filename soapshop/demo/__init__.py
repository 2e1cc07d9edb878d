"""An invented workshop to look around in. Every name, recipe, supplier and price in it is made up."""

from soapshop.demo.people import PASSWORD, USERNAME
from soapshop.demo.story import make_demo

__all__ = ["PASSWORD", "USERNAME", "make_demo"]
