"""Tests of the screens and of the HTTP API."""
