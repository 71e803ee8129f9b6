//! `serve`: listens on an address and answers until told to stop.

use std::io::{IsTerminal, Write};
use std::net::{SocketAddr, TcpListener, ToSocketAddrs};
use std::path::Path;
use std::time::Duration;

use crate::command::{Exit, fail};
use crate::http::{self, Service, Settings};
use crate::solve;
use crate::store::{Seconds, Store, StoreError};

/// How long the program waits for tasks that are left once the service has stopped.
const LAST_WAIT: Duration = Duration::from_millis(200);

/// Seconds of a day.
const DAY: Seconds = 24 * 3600;

/// Serves until SIGTERM or SIGINT.
pub(super) fn run(listen: &str, data: Option<&Path>, keep_days: u16, err: &mut dyn Write) -> Exit {
    let listener = match bind(listen) {
        Ok(listener) => listener,
        Err(reason) => return fail(err, &reason),
    };
    start_log();
    let runtime = match tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
    {
        Ok(runtime) => runtime,
        Err(error) => return fail(err, &format!("Cannot start the service: {error}.")),
    };
    let store = match open(data) {
        Ok(store) => store,
        Err(reason) => return fail(err, &reason),
    };
    let settings = Settings {
        keep_results: Seconds::from(keep_days) * DAY,
        ..Settings::default()
    };
    let service = Service::new(solve::planner(), settings, store);
    let served = runtime.block_on(http::serve(listener, service));
    runtime.shutdown_timeout(LAST_WAIT);
    match served {
        Ok(()) => Exit::Done,
        Err(error) => fail(err, &format!("The service failed: {error}.")),
    }
}

/// Opens the store in a folder, or one that ends with the program.
fn open(data: Option<&Path>) -> Result<Store, String> {
    let opened = match data {
        Some(folder) => Store::open(folder),
        None => Store::in_memory(),
    };
    opened.map_err(|error| match error {
        StoreError::Taken(folder) => format!(
            "Another sashwright works with the folder {folder}. Stop it, or give another folder with --data."
        ),
        error => format!("Cannot keep batches: {error}. Give another folder with --data."),
    })
}

/// Listens on the first address that the text names.
fn bind(listen: &str) -> Result<TcpListener, String> {
    let unreadable = |reason: &dyn std::fmt::Display| {
        format!(
            "Cannot read {listen:?} as an address to listen on: {reason}. Give an address and a port, such as 127.0.0.1:8080."
        )
    };
    let mut addresses = listen
        .to_socket_addrs()
        .map_err(|error| unreadable(&error))?;
    let address: SocketAddr = addresses
        .next()
        .ok_or_else(|| unreadable(&"it names no address"))?;
    TcpListener::bind(address).map_err(|error| {
        format!("Cannot listen on {address}: {error}. Give another address or port with --listen.")
    })
}

/// Log lines go to standard error, in colour only on a terminal.
fn start_log() {
    let log = tracing_subscriber::fmt()
        .with_writer(std::io::stderr)
        .with_ansi(std::io::stderr().is_terminal())
        // Where standard error is closed there is nobody to tell that a line was lost.
        .log_internal_errors(false)
        .finish();
    // A second log in one process, which only a test could ask for, leaves the first in place.
    let _ = tracing::subscriber::set_global_default(log);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_that_is_taken_or_unreadable_is_told() {
        let taken = bind("127.0.0.1:0").expect("a free port");
        let address = taken.local_addr().expect("its address").to_string();
        let reason = bind(&address).expect_err("taken");
        assert!(
            reason.contains(&address) && reason.contains("--listen"),
            "{reason}"
        );
        let reason = bind("nonsense").expect_err("no port");
        assert!(
            reason.contains("nonsense") && reason.contains("8080"),
            "{reason}"
        );
    }
}
