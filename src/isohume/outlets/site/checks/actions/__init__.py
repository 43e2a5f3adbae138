"""The changes of the checks app, one file each."""
