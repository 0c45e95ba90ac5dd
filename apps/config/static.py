"""Static files: hashed names once they were collected, plain names in a fresh clone."""

from whitenoise.storage import CompressedManifestStaticFilesStorage


class Storage(CompressedManifestStaticFilesStorage):  # type: ignore[misc]
    """WhiteNoise's storage that falls back to the plain name when `collectstatic` has not run."""

    manifest_strict = False

    def stored_name(self, name: str) -> str:
        """Return the hashed name, or the plain one if nothing was collected."""
        return super().stored_name(name) if self.hashed_files else name
