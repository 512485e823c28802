//! The append-only journal: canonical bytes, hash chain, stores. It knows bytes and order, not what facts mean.
