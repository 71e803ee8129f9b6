//! Which program this is.

/// The version of the package.
pub const VERSION: &str = env!("CARGO_PKG_VERSION");

/// The state of the source: its commit, or what was told at the build.
pub const BUILD: &str = env!("SASHWRIGHT_BUILD");

/// Both, as `--version` says them.
pub const FULL: &str = concat!(
    env!("CARGO_PKG_VERSION"),
    " (",
    env!("SASHWRIGHT_BUILD"),
    ")"
);

/// The product as an HTTP field names it (RFC 9110, section 10.2.4).
pub const PRODUCT: &str = concat!(
    "sashwright/",
    env!("CARGO_PKG_VERSION"),
    " (",
    env!("SASHWRIGHT_BUILD"),
    ")"
);
