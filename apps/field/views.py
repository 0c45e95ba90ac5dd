"""Views of the field pages."""
