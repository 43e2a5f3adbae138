"""The bench agent: an instrument's lines, read by the laboratory's rule, kept on disk, brought to the site once each.

It works without the site's parts: a bench computer needs none of them.
"""
