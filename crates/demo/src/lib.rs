//! The demo laboratory: an invented scenario, made through the real rules from a seed.
