"""Editing of a case document: by small steps that keep its comments, and back again."""
