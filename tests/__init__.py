"""The tests: tests/<app>/test_*.py, builders in tests/factories, both databases through tests/run.sh."""
