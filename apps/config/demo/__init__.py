"""The invented corridor that `manage.py demo` builds through the real acts: scene, readings, pictures, season, audits, meetings."""
