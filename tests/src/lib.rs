//! Readers of the published check values that the tests share.
