//! A mail server of the ordinary kind: Postfix, with a folder of its own for everything, TLS and a
//! login.

use std::collections::BTreeMap;
use std::fs;
use std::net::TcpListener;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};
use tempfile::TempDir;

/// The domain whose mail it takes.
pub const DOMAIN: &str = "skerrow.example";
/// The login's name and password.
pub const LOGIN: (&str, &str) = ("wingtide", "sea-lavender 7");

/// A running mail server; it ends with this.
pub struct Postfix {
    dir: TempDir,
    /// Where TLS begins with STARTTLS.
    pub starttls: u16,
    /// Where it begins with the first byte.
    pub tls: u16,
}

/// Why there can be none here.
fn missing() -> Option<String> {
    let there = |program: &str| {
        let mut found = Command::new("sh");
        found.args(["-c", &format!("command -v {program}")]);
        found
            .stdout(Stdio::null())
            .status()
            .is_ok_and(|s| s.success())
    };
    let programs = ["postfix", "openssl", "saslpasswd2"];
    let absent: Vec<&str> = programs.into_iter().filter(|p| !there(p)).collect();
    if !absent.is_empty() {
        return Some(format!("{} is absent", absent.join(", ")));
    }
    let output = Command::new("id").arg("-u").output().expect("id runs");
    (output.stdout.trim_ascii() != b"0").then(|| "only root can start it".to_owned())
}

fn run(program: &str, args: &[&str]) {
    let done = Command::new(program)
        .args(args)
        .output()
        .expect("the program runs");
    let said = String::from_utf8_lossy(&done.stderr);
    assert!(done.status.success(), "{program} {args:?}: {said}");
}

fn text(path: &Path) -> &str {
    path.to_str().expect("a plain path")
}

fn free_port() -> u16 {
    let listener = TcpListener::bind("127.0.0.1:0").expect("a port is free");
    listener.local_addr().expect("it has an address").port()
}

impl Postfix {
    /// Starts one that takes mail to these names at [`DOMAIN`]; mail to `gone` it takes and
    /// returns. Where it cannot be, why.
    ///
    /// # Errors
    /// What is missing here.
    pub fn start(mailboxes: &[&str]) -> Result<Self, String> {
        if let Some(why) = missing() {
            return Err(format!("no mail server: {why}"));
        }
        let dir = tempfile::tempdir().expect("a folder");
        fs::set_permissions(dir.path(), fs::Permissions::from_mode(0o755)).expect("opened up");
        let server = Postfix {
            dir,
            starttls: free_port(),
            tls: free_port(),
        };
        for folder in ["etc", "etc/sasl", "queue", "data", "boxes"] {
            fs::create_dir(server.path(folder)).expect("a folder");
        }
        run("chown", &["postfix", text(&server.path("data"))]);
        run("chown", &["nobody", text(&server.path("boxes"))]);
        server.certificates();
        server.login();
        server.settings(mailboxes);
        run("postfix", &["-c", text(&server.path("etc")), "start"]);
        server.until_it_listens();
        Ok(server)
    }

    fn path(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    /// Whom to trust to trust it.
    pub fn authority(&self) -> PathBuf {
        self.path("ca.pem")
    }

    fn certificates(&self) {
        let file = |name: &str| text(&self.path(name)).to_owned();
        let names = "subjectAltName=DNS:localhost,IP:127.0.0.1";
        let new = ["req", "-newkey", "rsa:2048", "-nodes", "-keyout"];
        let ca = file("ca.key");
        let root = [
            &new[..],
            &[&ca, "-x509", "-days", "2", "-subj", "/CN=Skerrow test"],
        ]
        .concat();
        run("openssl", &[&root[..], &["-out", &file("ca.pem")]].concat());
        let key = file("server.key");
        let ask = [&new[..], &[&key, "-subj", "/CN=localhost", "-out"]].concat();
        run("openssl", &[&ask[..], &[&file("server.csr")]].concat());
        fs::write(self.path("names"), names).expect("written");
        let (csr, pem, names) = (file("server.csr"), file("ca.pem"), file("names"));
        let sign = [
            "x509",
            "-req",
            "-in",
            &csr,
            "-CA",
            &pem,
            "-CAkey",
            &ca,
            "-CAcreateserial",
        ];
        let out = file("server.pem");
        let rest = ["-days", "2", "-extfile", &names, "-out", &out];
        run("openssl", &[&sign[..], &rest[..]].concat());
    }

    fn login(&self) {
        let database = self.path("etc/sasl/sasldb2");
        let conf = format!(
            "pwcheck_method: auxprop\nauxprop_plugin: sasldb\nmech_list: PLAIN LOGIN\n\
             sasldb_path: {}\n",
            database.display()
        );
        fs::write(self.path("etc/sasl/smtpd.conf"), conf).expect("written");
        let mut command = Command::new("saslpasswd2")
            .args(["-p", "-c", "-f", text(&database), "-u", DOMAIN, LOGIN.0])
            .stdin(Stdio::piped())
            .spawn()
            .expect("saslpasswd2 runs");
        let mut input = command.stdin.take().expect("its input");
        std::io::Write::write_all(&mut input, LOGIN.1.as_bytes()).expect("the password");
        drop(input);
        assert!(command.wait().expect("it ends").success());
        run("chown", &["postfix", text(&database)]);
    }

    fn settings(&self, mailboxes: &[&str]) {
        let at = |name: &str| self.path(name).display().to_string();
        let boxes = mailboxes.iter();
        let boxes: String = boxes.map(|m| format!("{m}@{DOMAIN} {m}/\n")).collect();
        fs::write(self.path("etc/boxes"), boxes).expect("written");
        // listed, so it is taken; what it stands for is not, so it comes back
        let gone = format!("gone@{DOMAIN} nobody-there@{DOMAIN}\n");
        fs::write(self.path("etc/aliases"), gone).expect("written");
        let nobody = |flag| {
            let found = Command::new("id")
                .args([flag, "nobody"])
                .output()
                .expect("id runs");
            String::from_utf8(found.stdout)
                .expect("a number")
                .trim()
                .to_owned()
        };
        let main = format!(
            "compatibility_level = 3.6\nqueue_directory = {}\ndata_directory = {}\n\
             maillog_file_prefixes = {}\nmaillog_file = {}\n\
             myhostname = mail.{DOMAIN}\nmydestination =\ninet_interfaces = 127.0.0.1\n\
             inet_protocols = ipv4\nalias_maps =\nalias_database =\nlocal_recipient_maps =\n\
             virtual_mailbox_domains = {DOMAIN}\nvirtual_mailbox_base = {}\n\
             virtual_mailbox_maps = texthash:{}\nvirtual_alias_maps = texthash:{}\n\
             virtual_minimum_uid = 1\nvirtual_uid_maps = static:{}\nvirtual_gid_maps = static:{}\n\
             smtpd_tls_cert_file = {}\nsmtpd_tls_key_file = {}\nsmtpd_tls_security_level = may\n\
             smtpd_tls_auth_only = yes\nsmtpd_sasl_auth_enable = yes\nsmtpd_sasl_path = smtpd\n\
             smtpd_sasl_local_domain = {DOMAIN}\n\
             smtpd_relay_restrictions = permit_sasl_authenticated, reject\n",
            at("queue"),
            at("data"),
            at(""),
            at("log"),
            at("boxes"),
            at("etc/boxes"),
            at("etc/aliases"),
            nobody("-u"),
            nobody("-g"),
            at("server.pem"),
            at("server.key"),
        );
        fs::write(self.path("etc/main.cf"), main).expect("written");
        let inner = [
            ("cleanup", "unix n - n - 0 cleanup"),
            ("qmgr", "unix n - n 300 1 qmgr"),
            ("rewrite", "unix - - n - - trivial-rewrite"),
            ("bounce", "unix - - n - 0 bounce"),
            ("defer", "unix - - n - 0 bounce"),
            ("trace", "unix - - n - 0 bounce"),
            ("proxymap", "unix - - n - - proxymap"),
            ("tlsmgr", "unix - - n 1000? 1 tlsmgr"),
            ("error", "unix - - n - - error"),
            ("retry", "unix - - n - - error"),
            ("virtual", "unix - n n - - virtual"),
            ("anvil", "unix - - n - 1 anvil"),
            ("postlog", "unix-dgram n - n - 1 postlogd"),
        ];
        let inner: String = inner.iter().map(|(n, s)| format!("{n} {s}\n")).collect();
        let (starttls, tls) = (self.starttls, self.tls);
        let master = format!(
            "{starttls} inet n - n - - smtpd\n{tls} inet n - n - - smtpd -o \
             smtpd_tls_wrappermode=yes\n{inner}"
        );
        fs::write(self.path("etc/master.cf"), master).expect("written");
    }

    fn until_it_listens(&self) {
        let patience = Instant::now() + Duration::from_secs(30);
        let open = |port| std::net::TcpStream::connect(("127.0.0.1", port)).is_ok();
        while !(open(self.starttls) && open(self.tls)) {
            assert!(Instant::now() < patience, "{}", self.log());
            std::thread::sleep(Duration::from_millis(50));
        }
    }

    /// What it logged.
    pub fn log(&self) -> String {
        fs::read_to_string(self.path("log")).unwrap_or_default()
    }

    /// The mails in a mailbox, once there are so many.
    pub fn mails(&self, mailbox: &str, number: usize) -> Vec<Vec<u8>> {
        let patience = Instant::now() + Duration::from_secs(60);
        loop {
            let found = self.stored(mailbox);
            if found.len() >= number {
                return found.into_values().collect();
            }
            assert!(
                Instant::now() < patience,
                "{} of {number}: {}",
                found.len(),
                self.log()
            );
            std::thread::sleep(Duration::from_millis(50));
        }
    }

    /// The mails in a mailbox now.
    pub fn stored(&self, mailbox: &str) -> BTreeMap<PathBuf, Vec<u8>> {
        let Ok(entries) = fs::read_dir(self.path("boxes").join(mailbox).join("new")) else {
            return BTreeMap::new();
        };
        let paths = entries.map(|e| e.expect("an entry").path());
        paths
            .map(|p| (p.clone(), fs::read(p).expect("a mail")))
            .collect()
    }
}

impl Drop for Postfix {
    fn drop(&mut self) {
        let etc = self.path("etc");
        let stop = Command::new("postfix")
            .args(["-c", text(&etc), "stop"])
            .output();
        if !std::thread::panicking() {
            assert!(stop.is_ok_and(|s| s.status.success()), "{}", self.log());
        }
    }
}
