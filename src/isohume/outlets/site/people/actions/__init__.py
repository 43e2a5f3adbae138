"""The changes of the people app, one file each."""
