"""The changes of the bench app, one file each."""
