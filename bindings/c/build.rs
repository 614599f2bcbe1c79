//! Gives the shared library the name that programs record when they are linked.

include!("src/abi.rs");

fn main() {
    println!("cargo:rerun-if-changed=src/abi.rs");
    let system = std::env::var("CARGO_CFG_TARGET_OS").unwrap_or_default();
    if system == "linux" {
        println!("cargo:rustc-cdylib-link-arg=-Wl,-soname,libdensepath.so.{DP_ABI_VERSION}");
    }
    if system == "macos" {
        let name = format!("@rpath/libdensepath.{DP_ABI_VERSION}.dylib");
        println!("cargo:rustc-cdylib-link-arg=-Wl,-install_name,{name}");
    }
}
