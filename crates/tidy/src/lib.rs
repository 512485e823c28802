//! Tests that hold the invariants of `ARCHITECTURE.md` over the whole tree; no code of its own.
