"""The forms of the register: which fields each change asks for, one file a kind of object."""
