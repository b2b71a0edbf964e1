//! A booth served by the real program, and a real browser in front of it.

use fantoccini::{Client, ClientBuilder, Locator, elements::Element, wd::Capabilities};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::{Value, json};
use std::{
    net::TcpListener,
    path::{Path, PathBuf},
    process::{Child, Command, Stdio},
    time::{Duration, Instant},
};

/// How long anything on a page may take before a test gives up.
const PATIENCE: Duration = Duration::from_secs(20);
/// The clock of the program in these tests: an hour and a half before the evening's showing.
pub const NOW: &str = "2026-11-25T18:00:00+00:00[Atlantic/Faroe]";

/// The size of a screen.
#[derive(Clone, Copy)]
pub struct Screen {
    pub width: u32,
    pub height: u32,
    pub name: &'static str,
}

pub const PHONE: Screen = Screen { width: 390, height: 844, name: "phone" };
pub const LAPTOP: Screen = Screen { width: 1366, height: 768, name: "laptop" };

/// A child that is ended, by its own id, when the test is over.
struct Ended(Child);

impl Drop for Ended {
    fn drop(&mut self) {
        // It may have ended by itself; nothing more is to be done then.
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// Returns a port that is free now.
fn free_port() -> u16 {
    TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port()
}

pub fn program() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_boothwright"));
    command.env("BOOTHWRIGHT_NOW", NOW).env_remove("BOOTHWRIGHT_DATA").env_remove("BOOTHWRIGHT_WHO");
    command
}

/// A booth and its server.
pub struct Booth {
    folder: tempfile::TempDir,
    port: u16,
    server: Option<Ended>,
    /// When it is by its clock; none: it goes by the computer's.
    now: Option<&'static str>,
}

impl Booth {
    /// Invents the demo booth and serves it.
    pub fn demo() -> Self {
        let booth = Self::new();
        let made = program().args(["demo", "--no-serve", "--data"]).arg(booth.data()).output().unwrap();
        assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
        booth.served()
    }

    /// The same, served at a later moment than that at which it was invented.
    pub fn demo_at(now: &'static str) -> Self {
        let mut booth = Self::demo();
        booth.lose_the_server();
        booth.now = Some(now);
        booth.served()
    }

    /// The demo booth invented for today, by the computer's clock.
    pub fn demo_today() -> Self {
        let mut booth = Self::new();
        booth.now = None;
        let made = booth.program().args(["demo", "--no-serve", "--data"]).arg(booth.data()).output().unwrap();
        assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
        booth.served()
    }

    fn program(&self) -> Command {
        let mut command = program();
        match self.now {
            Some(now) => command.env("BOOTHWRIGHT_NOW", now),
            None => command.env_remove("BOOTHWRIGHT_NOW"),
        };
        command
    }

    /// Serves a booth that nobody has set up yet.
    pub fn empty() -> Self {
        Self::new().served()
    }

    fn new() -> Self {
        Self { folder: tempfile::tempdir().unwrap(), port: free_port(), server: None, now: Some(NOW) }
    }

    fn served(mut self) -> Self {
        self.serve();
        self
    }

    pub fn data(&self) -> PathBuf {
        self.folder.path().join("data")
    }

    pub fn url(&self, path: &str) -> String {
        format!("http://127.0.0.1:{}{path}", self.port)
    }

    /// Starts the server, on the port that the pages know.
    pub fn serve(&mut self) {
        let server = self
            .program()
            .args(["serve", "--port", &self.port.to_string(), "--data"])
            .arg(self.data())
            .stdout(Stdio::null())
            .spawn()
            .unwrap();
        self.server = Some(Ended(server));
        let begun = Instant::now();
        while std::net::TcpStream::connect(("127.0.0.1", self.port)).is_err() {
            assert!(begun.elapsed() < PATIENCE, "the server does not answer");
            std::thread::sleep(Duration::from_millis(50));
        }
    }

    /// Kills the server as a power cut would.
    pub fn lose_the_server(&mut self) {
        self.server = None;
    }

    /// Asks the program on the command line and returns its JSON.
    pub fn ask(&self, args: &[&str]) -> Value {
        let answer = self.program().args(args).arg("--json").arg("--data").arg(self.data()).output().unwrap();
        assert!(answer.status.success(), "{args:?}: {}", String::from_utf8_lossy(&answer.stderr));
        serde_json::from_slice(&answer.stdout).unwrap()
    }
}

/// A browser with one page.
pub struct Browser {
    pub client: Client,
    screen: Screen,
    _driver: Ended,
    _profile: tempfile::TempDir,
}

impl Browser {
    /// Starts Chromium with a screen of this size.
    pub async fn with(screen: Screen) -> Self {
        Self::started(screen, &[]).await
    }

    /// The same with a microphone that hears a recording over and over.
    pub async fn hearing(screen: Screen, wav: &Path) -> Self {
        let file = format!("--use-file-for-fake-audio-capture={}", wav.display());
        let args = ["--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream", &file];
        Self::started(screen, &args).await
    }

    async fn started(screen: Screen, further: &[&str]) -> Self {
        let port = free_port();
        let driver = Command::new("chromedriver")
            .arg(format!("--port={port}"))
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("chromedriver is installed: ./check sees to it");
        let driver = Ended(driver);
        let profile = tempfile::tempdir().unwrap();
        let begun = Instant::now();
        let client = loop {
            let connected = ClientBuilder::new(HttpConnector::new())
                .capabilities(capabilities(screen, profile.path(), further))
                .connect(&format!("http://127.0.0.1:{port}"))
                .await;
            match connected {
                Ok(client) => break client,
                Err(error) => assert!(begun.elapsed() < PATIENCE, "the browser does not start: {error}"),
            }
            tokio::time::sleep(Duration::from_millis(100)).await;
        };
        Self { client, screen, _driver: driver, _profile: profile }
    }

    pub async fn open(&self, url: &str) {
        self.client.goto(url).await.unwrap();
    }

    /// Waits for something on the page.
    pub async fn find(&self, css: &str) -> Element {
        self.client
            .wait()
            .at_most(PATIENCE)
            .for_element(Locator::Css(css))
            .await
            .unwrap_or_else(|error| panic!("no `{css}` on the page: {error}"))
    }

    /// Presses something, brought to the middle of the screen first, as a thumb would.
    pub async fn press(&self, css: &str) {
        let element = self.find(css).await;
        let shown = serde_json::to_value(&element).unwrap();
        self.client.execute("arguments[0].scrollIntoView({ block: 'center' })", vec![shown]).await.unwrap();
        element.click().await.unwrap_or_else(|error| panic!("cannot press `{css}`: {error}"));
    }

    /// Fills a field.
    pub async fn fill(&self, css: &str, text: &str) {
        let field = self.find(css).await;
        field.clear().await.unwrap();
        field.send_keys(text).await.unwrap();
    }

    pub async fn text(&self, css: &str) -> String {
        self.find(css).await.text().await.unwrap()
    }

    /// Runs a little script in the page and returns what it returns.
    pub async fn script(&self, script: &str) -> Value {
        self.client.execute(script, vec![]).await.unwrap()
    }

    /// Waits until a script says yes.
    pub async fn until(&self, what: &str, script: &str) {
        let begun = Instant::now();
        while self.script(script).await != json!(true) {
            if begun.elapsed() > PATIENCE {
                let said = self.script("return [location.href, ...[...document.querySelectorAll('.problem')].map(p => p.textContent)]").await;
                panic!("waited in vain until {what}; the page says {said}");
            }
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
    }

    /// Checks what every page must hold: nothing from elsewhere, no sideways scrolling, targets for a thumb.
    pub async fn is_sound(&self, page: &str) {
        let foreign = "return performance.getEntriesByType('resource').map(r => r.name).filter(n => !n.startsWith(location.origin + '/'))";
        assert_eq!(self.script(foreign).await, json!([]), "{page}: something was loaded from elsewhere");
        let wide = "return document.documentElement.scrollWidth - document.documentElement.clientWidth";
        let wide = self.script(wide).await.as_i64().unwrap();
        assert!(wide <= 0, "{page}: {wide} px wider than the {} screen", self.screen.name);
        let small = "return [...document.querySelectorAll('button, nav a, .ways a, input, select, textarea, summary')]
            .filter(e => e.checkVisibility() && e.type !== 'hidden')
            .map(e => [e, (e.closest('label') || e).getBoundingClientRect()])
            .filter(([e, r]) => r.width > 1 && r.height > 1 && r.height < 47.5)
            .map(([e, r]) => e.outerHTML.slice(0, 120) + ' ' + Math.round(r.height))";
        assert_eq!(self.script(small).await, json!([]), "{page}: too small for a thumb");
    }

    /// Keeps a picture of the page, if somebody named a folder for them.
    pub async fn picture(&self, name: &str) {
        let Ok(folder) = std::env::var("BOOTHWRIGHT_PICTURES") else { return };
        let picture = self.client.screenshot().await.unwrap();
        std::fs::create_dir_all(&folder).unwrap();
        std::fs::write(Path::new(&folder).join(format!("{name}-{}.png", self.screen.name)), picture).unwrap();
    }

    /// The same of what stands further down.
    pub async fn picture_of(&self, name: &str, css: &str) {
        let shown = serde_json::to_value(self.find(css).await).unwrap();
        self.client.execute("arguments[0].scrollIntoView({ block: 'start' })", vec![shown]).await.unwrap();
        self.picture(name).await;
    }

    pub async fn close(self) {
        self.client.close().await.unwrap();
    }
}

/// Chooses a file in a field.
pub async fn file_chosen(browser: &Browser, css: &str, file: &Path) {
    browser.find(css).await.send_keys(file.to_str().unwrap()).await.unwrap();
}

fn capabilities(screen: Screen, profile: &Path, further: &[&str]) -> Capabilities {
    let is_phone = screen.width < 500;
    let mut args: Vec<String> = [
        "--headless",
        "--no-sandbox",
        "--disable-gpu",
        "--disable-quic",
        "--no-first-run",
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-sync",
        "--disable-dev-shm-usage",
    ]
    .map(str::to_owned)
    .to_vec();
    args.extend(further.iter().map(|one| (*one).to_owned()));
    args.push(format!("--user-data-dir={}", profile.display()));
    args.push(format!("--window-size={},{}", screen.width.max(500), screen.height));
    let mut options = json!({ "args": args });
    if is_phone {
        let metrics =
            json!({ "width": screen.width, "height": screen.height, "pixelRatio": 2.0, "touch": true });
        options["mobileEmulation"] = json!({ "deviceMetrics": metrics });
    }
    let mut capabilities = Capabilities::new();
    capabilities.insert("goog:chromeOptions".to_owned(), options);
    capabilities
}
