"""Shots compared from the side."""
