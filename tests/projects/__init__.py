"""Tests of the records, services, estimates and API."""
