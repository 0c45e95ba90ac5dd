"""Builders: one module per app. They call the acts, as pages do, and never make rows behind them."""
