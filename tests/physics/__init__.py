"""Physics: properties that hold for every value, and comparison with reference libraries."""
