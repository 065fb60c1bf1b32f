//! Published checks.
