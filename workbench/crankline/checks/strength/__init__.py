"""Strength screening: the load model of a car's mounts and the holes that its bolts go through."""
