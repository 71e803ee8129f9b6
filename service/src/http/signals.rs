//! What the system tells the service: to stop, or to read its keys and certificates again.

use std::io;

/// SIGTERM and SIGINT, as they come.
#[cfg(unix)]
pub(super) struct Stops(tokio::signal::unix::Signal, tokio::signal::unix::Signal);

#[cfg(unix)]
impl Stops {
    /// Hears them from now on.
    ///
    /// # Errors
    /// The system does not tell them.
    pub(super) fn new() -> io::Result<Stops> {
        use tokio::signal::unix::{SignalKind, signal};
        Ok(Stops(
            signal(SignalKind::terminate())?,
            signal(SignalKind::interrupt())?,
        ))
    }

    /// Ends at the signal of that number, counted from 1.
    pub(super) async fn count(mut self, number: usize) {
        for _ in 0..number {
            tokio::select! {
                _ = self.0.recv() => {}
                _ = self.1.recv() => {}
            }
        }
    }
}

/// Ctrl-C, each time that it is pressed.
#[cfg(not(unix))]
pub(super) struct Stops;

#[cfg(not(unix))]
impl Stops {
    /// Hears it from now on.
    ///
    /// # Errors
    /// None.
    pub(super) fn new() -> io::Result<Stops> {
        Ok(Stops)
    }

    /// Ends when it is pressed for that time, counted from 1.
    pub(super) async fn count(self, number: usize) {
        for _ in 0..number {
            let _ = tokio::signal::ctrl_c().await;
        }
    }
}

/// Calls `reread` at each SIGHUP, beside what the service does, for as long as the runtime lives.
///
/// # Errors
/// The system does not tell the signal.
#[cfg(unix)]
pub(super) fn at_each_hangup(reread: impl Fn() + Send + Sync + 'static) -> io::Result<()> {
    use tokio::signal::unix::{SignalKind, signal};
    let mut hangups = signal(SignalKind::hangup())?;
    let reread = std::sync::Arc::new(reread);
    tokio::spawn(async move {
        while hangups.recv().await.is_some() {
            let reread = reread.clone();
            // It reads files. Should it panic, the next signal calls it again.
            let _ = tokio::task::spawn_blocking(move || reread()).await;
        }
    });
    Ok(())
}

/// Elsewhere there is no such signal.
///
/// # Errors
/// None.
#[cfg(not(unix))]
pub(super) fn at_each_hangup(_: impl Fn() + Send + Sync + 'static) -> io::Result<()> {
    Ok(())
}
