"""Views of the setup pages."""
