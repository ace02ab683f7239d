//! Pages asked for within the process, each time by another peer unless one is named.

use axum::Router;
use axum::body::{Body, to_bytes};
use axum::extract::ConnectInfo;
use axum::http::{HeaderMap, Request, StatusCode};
use notifier::guard::patience::Peer;
use std::net::{Ipv4Addr, SocketAddr};
use std::sync::atomic::{AtomicU32, Ordering};
use tokio::runtime::Runtime;
use tower::ServiceExt;

/// An answer.
pub struct Answer {
    /// Its status.
    pub code: StatusCode,
    /// Its fields.
    pub headers: HeaderMap,
    /// Its body.
    pub body: String,
}

impl Answer {
    /// A field of it, empty where it is absent.
    pub fn header(&self, name: &str) -> &str {
        let field = self.headers.get(name);
        field.map_or("", |v| v.to_str().expect("visible text"))
    }

    /// The code that its (first) form carries.
    pub fn form(&self) -> String {
        let (_, rest) = self
            .body
            .split_once("name=\"form\" value=\"")
            .expect("a form of ours");
        rest.split('"').next().expect("its code").to_owned()
    }
}

/// Pages with a runtime to serve them.
pub struct Asked {
    router: Router,
    /// Where what goes on behind the pages runs.
    pub runtime: Runtime,
}

impl Asked {
    /// Within a runtime of their own.
    pub fn new(make: impl FnOnce() -> Router) -> Self {
        let runtime = tokio::runtime::Builder::new_multi_thread()
            .worker_threads(2)
            .enable_all()
            .build()
            .expect("a runtime");
        let router = {
            let _in = runtime.enter();
            make()
        };
        Asked { router, runtime }
    }

    /// Asks with any request.
    pub fn ask(&self, mut request: Request<Body>) -> Answer {
        static PEERS: AtomicU32 = AtomicU32::new(0x0a00_0001);
        if request.extensions().get::<ConnectInfo<Peer>>().is_none() {
            let ip = Ipv4Addr::from_bits(PEERS.fetch_add(1, Ordering::Relaxed));
            let peer = Peer(SocketAddr::from((ip, 40_000)));
            request.extensions_mut().insert(ConnectInfo(peer));
        }
        let router = self.router.clone();
        self.runtime.block_on(async move {
            let answer = router.oneshot(request).await.expect("a router never fails");
            let (parts, body) = answer.into_parts();
            let bytes = to_bytes(body, usize::MAX).await.expect("a whole body");
            Answer {
                code: parts.status,
                headers: parts.headers,
                // templates write the stroke so
                body: String::from_utf8_lossy(&bytes).replace("&#x2f;", "/"),
            }
        })
    }

    /// A page.
    pub fn get(&self, path: &str) -> Answer {
        self.ask(Request::get(path).body(Body::empty()).expect("a request"))
    }

    /// A form that is sent, from nowhere in particular.
    pub fn post(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        self.post_with(path, fields, &[])
    }

    /// A form that is sent with more fields in its head.
    pub fn post_with(&self, path: &str, fields: &[(&str, &str)], head: &[(&str, &str)]) -> Answer {
        let body = url::form_urlencoded::Serializer::new(String::new())
            .extend_pairs(fields)
            .finish();
        let request =
            Request::post(path).header("content-type", "application/x-www-form-urlencoded");
        let request = head
            .iter()
            .fold(request, |r, (name, value)| r.header(*name, *value));
        self.ask(request.body(Body::from(body)).expect("a request"))
    }
}
