//! The web page and the HTTP interface.
