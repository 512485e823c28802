//! The statistics commands as their users meet them: published data in, published figures out, and
//! whatever else people put into a CSV file.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod budget;
mod charts;
mod desk;
mod guide;
mod hostile;
mod rounds;
mod sets;
mod uncertainty;
