"""`isohume serve`: one command keeps the pages, the live streams and the worker running on one data folder."""
