"""Tests of reading, building, finding and choosing rule packs."""
