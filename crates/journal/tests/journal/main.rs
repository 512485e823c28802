//! The journal from outside: what every store does, what verifying finds, what an export holds,
//! and that nothing acknowledged is lost. One program, so that it is linked once.

// The helpers beside the tests are tests too, but stand outside of `#[test]`.
#![allow(clippy::unwrap_used)]

mod doctored;
mod export;
mod kill;
mod postgres;
mod postgres_lost;
mod postgres_roles;
#[cfg(unix)]
mod postgres_tls;
mod python;
mod signatures;
mod sqlite;
mod stores;
mod support;
mod tamper;
mod together;
