"""What `manage.py bench NAME` measures: one module a name, each with cases(sizes) that yield timing.Case."""
