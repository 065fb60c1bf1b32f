//! The one test binary: every end-to-end, reference and property test.
