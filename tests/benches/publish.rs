//! The benchmark of a publish. Written below, once there is something to measure.

fn main() {}
