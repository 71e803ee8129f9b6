//! `serve`: listens on an address and answers until told to stop.

use std::io::{IsTerminal, Write};
use std::net::{SocketAddr, TcpListener, ToSocketAddrs};
use std::path::Path;
use std::time::Duration;

use crate::arguments::{LogForm, Serving};
use crate::command::{Exit, fail};
use crate::files;
use crate::http::{self, Service, Settings};
use crate::keys::Keys;
use crate::solve;
use crate::store::{Seconds, Store, StoreError};

/// How long the program waits for tasks that are left once the service has stopped.
const LAST_WAIT: Duration = Duration::from_millis(200);

/// Seconds of a day.
const DAY: Seconds = 24 * 3600;

/// Serves until SIGTERM or SIGINT.
pub(super) fn run(serving: &Serving, err: &mut dyn Write) -> Exit {
    let listener = match bind(&serving.listen) {
        Ok(listener) => listener,
        Err(reason) => return fail(err, &reason),
    };
    let keys = match keys(serving, &listener) {
        Ok(keys) => keys,
        Err(reason) => return fail(err, &reason),
    };
    start_log(serving.log);
    let runtime = match tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
    {
        Ok(runtime) => runtime,
        Err(error) => return fail(err, &format!("Cannot start the service: {error}.")),
    };
    let store = match open(serving.data.as_deref()) {
        Ok(store) => store,
        Err(reason) => return fail(err, &reason),
    };
    let usual = Settings::default();
    let settings = Settings {
        keep_results: Seconds::from(serving.keep_days) * DAY,
        drain: Duration::from_secs(serving.drain_seconds.into()),
        // With keys it is known who asks: none takes all places, and none sees another's batches.
        inside_each: match keys {
            Some(_) => usual.inside_each.div_ceil(2),
            None => usual.inside_each,
        },
        batches_apart: keys.is_some(),
        ..usual
    };
    let service = Service::new(solve::planner(), settings, store, keys);
    let served = runtime.block_on(http::serve(listener, service));
    runtime.shutdown_timeout(LAST_WAIT);
    match served {
        Ok(()) => Exit::Done,
        Err(error) => fail(err, &format!("The service failed: {error}.")),
    }
}

/// The keys of those who may use the service. Where others than this machine can reach it, there have to be some.
fn keys(serving: &Serving, listener: &TcpListener) -> Result<Option<Keys>, String> {
    if let Some(path) = &serving.keys {
        let text = files::read(path)?;
        let keys = Keys::read(&text);
        return keys
            .map(Some)
            .map_err(|reason| format!("The keys in {} are faulty: {reason}.", files::name(path)));
    }
    match listener.local_addr() {
        Ok(address) if !address.ip().is_loopback() => Err(format!(
            "Others can reach {address}, and nobody needs a key. Give --keys FILE with the keys of those who may use the service (the command key makes them), or listen on 127.0.0.1."
        )),
        Ok(_) => Ok(None),
        Err(error) => Err(format!("Cannot tell where the service listens: {error}.")),
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
fn start_log(form: LogForm) {
    let log = tracing_subscriber::fmt()
        .with_writer(std::io::stderr)
        // Where standard error is closed there is nobody to tell that a line was lost.
        .log_internal_errors(false);
    // A second log in one process, which only a test could ask for, leaves the first in place.
    let _ = match form {
        LogForm::Text => {
            let log = log.with_ansi(std::io::stderr().is_terminal()).finish();
            tracing::subscriber::set_global_default(log)
        }
        LogForm::Json => {
            let log = log
                .json()
                .flatten_event(true)
                .with_current_span(false)
                .with_span_list(false);
            tracing::subscriber::set_global_default(log.finish())
        }
    };
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
