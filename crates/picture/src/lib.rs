//! Our pictures as SVG, from plain data: tolerance strip, jar wall, evidence line, charts.
