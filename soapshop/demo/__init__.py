"""An invented workshop to look around in. Every name, recipe, supplier and price in it is made up."""
