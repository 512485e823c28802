//! Placeholder while dependencies build.
