//! The socket: the page is served until somebody ends it.

use crate::address::{Address, Token};
use crate::app;
use crate::page::{OpenError, Page, PageSetup};
use std::io;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::sync::Arc;
use tokio::net::TcpListener;

/// Where to listen.
#[derive(Debug, Clone, Copy)]
pub struct Served {
    /// The address; this machine alone unless told otherwise.
    pub host: IpAddr,
    /// The port; 0 for any that is free.
    pub port: u16,
}

impl Default for Served {
    fn default() -> Served {
        Served {
            host: Ipv4Addr::LOCALHOST.into(),
            port: 0,
        }
    }
}

/// Why a page cannot be served.
#[derive(Debug, thiserror::Error)]
pub enum ServeError {
    /// The field cannot be read.
    #[error(transparent)]
    Open(#[from] OpenError),
    /// The address cannot be listened on.
    #[error("{at}: cannot be listened on: {source}\nhint: {}", hint(.source))]
    Listen {
        /// Address and port.
        at: SocketAddr,
        /// What the operating system said.
        source: io::Error,
    },
    /// The operating system gives no random numbers or threads, or the socket broke.
    #[error("the page cannot be served: {0}")]
    System(String),
}

fn hint(error: &io::Error) -> &'static str {
    match error.kind() {
        io::ErrorKind::AddrInUse => {
            "another program listens there, perhaps another checkstrip draw: give another --port, or none"
        }
        io::ErrorKind::PermissionDenied => "give a --port above 1023, or none",
        io::ErrorKind::AddrNotAvailable => "--host must be an address of this machine",
        _ => "leave --host and --port out",
    }
}

/// Reads the field of `setup` and serves its page until `ended` is ready. `is_open` is told the address
/// once browsers can open it; `progress` what is being done before.
///
/// # Errors
/// When the field cannot be read or the address cannot be listened on.
pub fn serve(
    setup: PageSetup,
    served: Served,
    progress: &(dyn Fn(&str) + Sync),
    is_open: impl FnOnce(&str),
) -> Result<(), ServeError> {
    let system = |error: &dyn std::fmt::Display| ServeError::System(error.to_string());
    let token = Token::new().map_err(|error| system(&error))?;
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .map_err(|error| system(&error))?;
    let at = SocketAddr::new(served.host, served.port);
    // A port that is taken should not wait for the large log.
    let listener = runtime
        .block_on(TcpListener::bind(at))
        .map_err(|source| ServeError::Listen { at, source })?;
    let socket = listener.local_addr().map_err(|error| system(&error))?;
    let page = Page::open(setup, Address::new(socket, token), progress)?;
    is_open(&page.url());
    let done = runtime.block_on(async move {
        axum::serve(listener, app(Arc::new(page)))
            .with_graceful_shutdown(ended())
            .await
    });
    // What is still being computed is of no use to anybody.
    runtime.shutdown_background();
    done.map_err(|error| system(&error))
}

/// Ready when somebody ends the program (Ctrl-C, or the system's request to end).
async fn ended() {
    let interrupted = async {
        // Without signals there is nothing to wait for.
        if tokio::signal::ctrl_c().await.is_err() {
            std::future::pending::<()>().await;
        }
    };
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        match signal(SignalKind::terminate()) {
            Ok(mut terminated) => {
                let mut interrupted = std::pin::pin!(interrupted);
                std::future::poll_fn(|context| {
                    let is_ended = interrupted.as_mut().poll(context).is_ready()
                        || terminated.poll_recv(context).is_ready();
                    match is_ended {
                        true => std::task::Poll::Ready(()),
                        false => std::task::Poll::Pending,
                    }
                })
                .await;
            }
            Err(_) => interrupted.await,
        }
    }
    #[cfg(not(unix))]
    interrupted.await;
}
