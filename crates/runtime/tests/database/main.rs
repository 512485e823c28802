//! Laboratories in a PostgreSQL database: worked with as in a folder, by many at once; carried there and
//! back; seen as a network. One program, so that it has one cluster.

#![allow(clippy::unwrap_used, reason = "a test that fails here says where")]

mod carrying;
mod network;
mod support;
mod working;
