"""The changes of the register app, one file each."""
