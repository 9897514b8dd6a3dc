"""Repeatability by analysis of variance, and the budget."""
