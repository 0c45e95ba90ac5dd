"""Views of the desk pages."""
