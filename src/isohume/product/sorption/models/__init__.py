"""The isotherm models, one file each; `dispatch` is written from them by builders/model_dispatch.py."""
