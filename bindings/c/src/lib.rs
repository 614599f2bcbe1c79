//! C interface of densepath.
