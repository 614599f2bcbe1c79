//! Benchmarks of densepath beside its peers.
