"""Tests of what pack authors use: the schemas and the check."""
