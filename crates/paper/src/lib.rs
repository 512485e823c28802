//! How a paper looks: typesetting reports as PDF.
