// Read by the build script too, so that the name of the library follows it.

/// Version of the binary interface. It rises when a function or a structure changes so that old programs must be built again.
pub const DP_ABI_VERSION: u32 = 2;
