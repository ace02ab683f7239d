//! Connections that are waited for no longer than a whole request takes: who sends a byte now and
//! then holds none of them for ever.

use axum::extract::connect_info::Connected;
use axum::serve::{IncomingStream, Listener};
use std::io;
use std::net::SocketAddr;
use std::pin::Pin;
use std::task::{Context, Poll};
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{TcpListener, TcpStream};
use tokio::time::{Instant, Sleep, sleep};

/// Accepts connections, each with the patience given.
pub struct Patient {
    inner: TcpListener,
    patience: Duration,
}

impl Patient {
    /// From a listener. A request has to come within `patience` of the connection or of the answer
    /// before it, the whole of it.
    pub fn new(inner: TcpListener, patience: Duration) -> Self {
        Patient { inner, patience }
    }
}

impl Listener for Patient {
    type Io = Bounded;
    type Addr = SocketAddr;

    async fn accept(&mut self) -> (Bounded, SocketAddr) {
        // its own way of going on where none can be accepted for the moment
        let (stream, address) = Listener::accept(&mut self.inner).await;
        (Bounded::new(stream, self.patience), address)
    }

    fn local_addr(&self) -> io::Result<SocketAddr> {
        self.inner.local_addr()
    }
}

/// Who is at the other end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Peer(pub SocketAddr);

impl Connected<IncomingStream<'_, Patient>> for Peer {
    fn connect_info(stream: IncomingStream<'_, Patient>) -> Self {
        Peer(*stream.remote_addr())
    }
}

/// A connection that ends where nothing is answered on it for too long.
pub struct Bounded {
    stream: TcpStream,
    patience: Duration,
    over: Pin<Box<Sleep>>,
}

impl Bounded {
    fn new(stream: TcpStream, patience: Duration) -> Self {
        let over = Box::pin(sleep(patience));
        Bounded {
            stream,
            patience,
            over,
        }
    }

    /// An answer goes out, so what comes next has its whole time again.
    fn begin_anew(&mut self) {
        let end = Instant::now() + self.patience;
        self.over.as_mut().reset(end);
    }
}

impl AsyncRead for Bounded {
    fn poll_read(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        buf: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        if self.over.as_mut().poll(cx).is_ready() {
            return Poll::Ready(Err(io::ErrorKind::TimedOut.into()));
        }
        Pin::new(&mut self.stream).poll_read(cx, buf)
    }
}

impl AsyncWrite for Bounded {
    fn poll_write(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        buf: &[u8],
    ) -> Poll<io::Result<usize>> {
        self.begin_anew();
        Pin::new(&mut self.stream).poll_write(cx, buf)
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        bufs: &[io::IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        self.begin_anew();
        Pin::new(&mut self.stream).poll_write_vectored(cx, bufs)
    }

    fn is_write_vectored(&self) -> bool {
        self.stream.is_write_vectored()
    }

    fn poll_flush(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_flush(cx)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(cx)
    }
}
