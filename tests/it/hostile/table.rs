//! Hostile inputs by name: what is sent where. Each has to be refused or come to no harm.

/// What is tried.
#[derive(Debug, Clone, Copy)]
pub enum Attack {
    /// As an address in the form of `/subscribe`: refused, nothing kept, nobody mailed.
    Address(&'static str),
    /// As a choice, field and value, in the same form: refused and not repeated.
    Choice(&'static str, &'static str),
    /// As the name of a site and of a species, and as the digest's title: shown as text.
    Name(&'static str),
    /// As a link of a mail.
    Link(Forgery),
    /// As a form that is sent to a page with a good link.
    Form(Sent),
    /// As a path: nothing of the machine or the store is shown.
    Path(&'static str),
    /// As the address of a webhook: nothing is asked there.
    Url(&'static str),
}

/// How a link is made up.
#[derive(Debug, Clone, Copy)]
pub enum Forgery {
    Cut,
    Lengthened,
    BitTurned,
    OtherReader,
    LaterEnd,
    OtherPurpose,
    OtherKey,
    Ended,
    Used,
    ZeroCode,
    Written(&'static str),
}

/// What is wrong with a form.
#[derive(Debug, Clone, Copy)]
pub enum Sent {
    WithoutCode,
    WithOtherCode,
    WithOldCode,
    FromOrigin(&'static str),
    FromSite(&'static str),
    As(&'static str),
}

use Attack::{Address, Choice, Form, Link, Name, Path, Url};

pub const ROWS: &[(&str, Attack)] = &[
    (
        "a second header field behind CR LF",
        Address("anna@skerrow.example\r\nBcc: eve@other.example"),
    ),
    (
        "a second header field behind LF",
        Address("anna@skerrow.example\nBcc: eve@other.example"),
    ),
    (
        "a second header field behind CR",
        Address("anna@skerrow.example\rBcc: eve@other.example"),
    ),
    (
        "a command for the mail server",
        Address("anna@skerrow.example>\r\nRCPT TO:<eve@other.example"),
    ),
    (
        "an encoded CR LF",
        Address("anna%0d%0aBcc:eve@other.example@skerrow.example"),
    ),
    (
        "a line separator of Unicode",
        Address("anna\u{2028}@skerrow.example"),
    ),
    ("a NUL", Address("anna\0@skerrow.example")),
    (
        "two addresses",
        Address("anna@skerrow.example,eve@other.example"),
    ),
    (
        "an address with a name",
        Address("\"Anna\" <eve@other.example>"),
    ),
    (
        "a quoted local part",
        Address("\"anna\\\" -oQ/tmp -X/tmp/x\"@skerrow.example"),
    ),
    ("a comment", Address("anna(eve)@skerrow.example")),
    (
        "a script as an address",
        Address("<script>alert(1)</script>@skerrow.example"),
    ),
    (
        "a template as an address",
        Address("{{7*7}}@skerrow.example"),
    ),
    (
        "a template's block",
        Address("{%include 'base.html'%}@skerrow.example"),
    ),
    (
        "a query of SQL",
        Address("a@b.example'; DROP TABLE readers; --"),
    ),
    ("an option of a program", Address("-oQ/tmp@")),
    (
        "an address of a machine in numbers",
        Address("root@[127.0.0.1]"),
    ),
    ("an address of IPv6", Address("root@[IPv6:::1]")),
    ("a domain in decimal", Address("root@2130706433")),
    ("a domain without a dot", Address("root@localhost")),
    (
        "an address of no end",
        Address(
            "aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa@skerrow.example",
        ),
    ),
    (
        "letters from right to left",
        Address("anna\u{202e}@skerrow.example"),
    ),
    (
        "a site that is none",
        Choice("site", "<img src=x onerror=alert(1)>"),
    ),
    ("a path as a site", Choice("site", "../../etc/passwd")),
    ("a set that is none", Choice("set", "{{ self }}")),
    (
        "a species with a line end",
        Choice("species", "Calidris alpina\r\nX-Evil: 1"),
    ),
    (
        "a language with a path",
        Choice("language", "de/../../secret"),
    ),
    (
        "a frequency of SQL",
        Choice("frequency", "weekly' OR '1'='1"),
    ),
    (
        "a style that is a script",
        Choice("dates", "javascript:alert(1)"),
    ),
    ("a script as a name", Name("<script>alert('name')</script>")),
    (
        "an element that calls as a name",
        Name("<img src=x onerror=alert(2)>"),
    ),
    (
        "an attribute broken open",
        Name("\" autofocus onfocus=\"alert(3)"),
    ),
    (
        "an attribute broken open by the other mark",
        Name("' onmouseover='alert(4)"),
    ),
    (
        "a comment broken open",
        Name("--><script>alert(5)</script><!--"),
    ),
    ("a template as a name", Name("{{ 7 * 191 }}")),
    (
        "a template's block as a name",
        Name("{% raw %}1338{% endraw %}"),
    ),
    (
        "the place of a greeting",
        Name("<!--greeting--> <!--leaving-->"),
    ),
    (
        "an end of the title",
        Name("</title><base href='https://other.example/'>"),
    ),
    (
        "a picture's own script",
        Name("]]></desc></svg><svg onload=alert(6)>"),
    ),
    ("a link cut short", Link(Forgery::Cut)),
    ("a link made longer", Link(Forgery::Lengthened)),
    ("a link with one bit turned", Link(Forgery::BitTurned)),
    (
        "a link with another reader's number",
        Link(Forgery::OtherReader),
    ),
    ("a link with a later end", Link(Forgery::LaterEnd)),
    ("a link for another page", Link(Forgery::OtherPurpose)),
    ("a link of another workspace's key", Link(Forgery::OtherKey)),
    ("a link whose time is over", Link(Forgery::Ended)),
    ("a link that was used", Link(Forgery::Used)),
    ("a link with a code of zeros", Link(Forgery::ZeroCode)),
    ("a link of nothing", Link(Forgery::Written("%20"))),
    (
        "a link with a path",
        Link(Forgery::Written("..%2f..%2fetc%2fpasswd")),
    ),
    ("a link with a NUL", Link(Forgery::Written("AAAA%00AAAA"))),
    (
        "a link with a script",
        Link(Forgery::Written("%3Cscript%3Ealert(1)%3C%2Fscript%3E")),
    ),
    (
        "a link with a template",
        Link(Forgery::Written("%7B%7B7*7%7D%7D")),
    ),
    (
        "a link with a line end",
        Link(Forgery::Written("AAAA%0d%0aSet-Cookie:x=1")),
    ),
    ("a link of no Unicode", Link(Forgery::Written("%ff%fe"))),
    ("a form without its code", Form(Sent::WithoutCode)),
    ("a form with the code of another", Form(Sent::WithOtherCode)),
    (
        "a form of the day before yesterday",
        Form(Sent::WithOldCode),
    ),
    (
        "a form from another origin",
        Form(Sent::FromOrigin("https://other.example")),
    ),
    (
        "a form from an origin of no name",
        Form(Sent::FromOrigin("null")),
    ),
    (
        "a form from an origin that begins alike",
        Form(Sent::FromOrigin(
            "https://birds.skerrow.example.other.example",
        )),
    ),
    (
        "a form from the same name without TLS",
        Form(Sent::FromOrigin("http://birds.skerrow.example")),
    ),
    (
        "a form from another port",
        Form(Sent::FromOrigin("https://birds.skerrow.example:8443")),
    ),
    (
        "a form from another site",
        Form(Sent::FromSite("cross-site")),
    ),
    (
        "a form from a neighbour of the domain",
        Form(Sent::FromSite("same-site")),
    ),
    ("a form as plain text", Form(Sent::As("text/plain"))),
    ("a form as JSON", Form(Sent::As("application/json"))),
    (
        "a form in parts",
        Form(Sent::As("multipart/form-data; boundary=x")),
    ),
    ("a path upwards", Path("/../../etc/passwd")),
    ("a path upwards, encoded", Path("/%2e%2e/%2e%2e/etc/passwd")),
    (
        "a path upwards, encoded twice",
        Path("/%252e%252e/etc/passwd"),
    ),
    (
        "a path upwards with the other stroke",
        Path("/..%5c..%5cwingtide.toml"),
    ),
    ("the settings", Path("/wingtide.toml")),
    ("the store's key", Path("/wingtide-store/deliveries.key")),
    ("the keeper's token", Path("/wingtide-store/keeper.token")),
    ("the tables", Path("/wingtide-store/service.sqlite")),
    ("the password's file", Path("//password")),
    ("a template", Path("/templates/web/base.html")),
    ("a path below a page", Path("/subscribe/../wingtide.toml")),
    (
        "a sheet of a year beyond the last",
        Path("/old-pans/year-200.png"),
    ),
    ("no sheet of a year", Path("/old-pans/year-0.png")),
    ("this machine in decimal", Url("http://2130706433/")),
    ("this machine in octal", Url("http://0177.0.0.1/")),
    ("this machine in hexadecimal", Url("http://0x7f000001/")),
    ("this machine in short", Url("http://127.1/")),
    ("this machine by zero", Url("http://0/")),
    ("this machine in round figures", Url("http://①②⑦.0.0.1/")),
    ("this machine by IPv6", Url("http://[::1]/")),
    ("this machine mapped", Url("http://[::ffff:127.0.0.1]/")),
    (
        "this machine mapped in hexadecimal",
        Url("http://[::ffff:7f00:1]/"),
    ),
    ("this machine translated", Url("http://[64:ff9b::7f00:1]/")),
    ("this machine by 6to4", Url("http://[2002:7f00:1::]/")),
    ("this machine by name", Url("http://localhost/")),
    ("a private network", Url("http://192.168.1.1/")),
    ("a private network of IPv6", Url("http://[fd00:ec2::254]/")),
    ("a link's own address", Url("http://[fe80::1]/")),
    (
        "a cloud's own data",
        Url("http://169.254.169.254/latest/meta-data/"),
    ),
    (
        "a cloud's own data in decimal",
        Url("http://2852039166/latest/meta-data/"),
    ),
    (
        "another cloud's own data",
        Url("http://100.100.100.200/latest/meta-data/"),
    ),
    ("everybody on the network", Url("http://224.0.0.1/")),
];
