"""The changes of the records app, one file each."""
