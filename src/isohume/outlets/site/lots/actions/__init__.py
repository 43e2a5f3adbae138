"""The changes of the lots app, one file each."""
