//! What a paper says, as plain data made from the laboratory.
