"""Views of the dossier pages."""
