//! Written next.
