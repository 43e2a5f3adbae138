"""What plants B and C share: a bench whose instruments speak, its register, its days, the making of its data folder."""
