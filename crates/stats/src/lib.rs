//! Laboratory statistics: control charts, interlaboratory analysis, comparison, acceptance, outliers.
