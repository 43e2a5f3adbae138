"""Where people and machines meet isohume; imports everything, imported by nobody."""
