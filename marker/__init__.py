"""Cutting layouts for people who sew."""
