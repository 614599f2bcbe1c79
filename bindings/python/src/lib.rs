//! Python interface of densepath.
