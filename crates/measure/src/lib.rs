//! Exact decimals, rounding, limits and uncertainty: everything about a quantity, nothing about laboratories.
