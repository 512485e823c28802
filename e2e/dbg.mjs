import { launch, open, press, fill } from "/tmp/wt-w/e2e/support/browser.mjs";
import { line } from "/tmp/wt-w/e2e/support/line.mjs";
import { folder, serve, stonewear, sweep } from "/tmp/wt-w/e2e/support/server.mjs";
const dir = folder(); stonewear("demo","--dir",dir,"--found-only");
const server = await serve(dir,"demo"); const wire = await line(server.url); const browser = await launch();
const { page } = await open(browser, wire.url);
page.on("requestfailed", r => console.log(Date.now()-t0, "failed", r.method(), r.url(), r.failure().errorText));
page.on("request", r => t0 && console.log(Date.now()-t0, r.method(), r.url()));
let t0 = 0;
await page.goto("/who"); await press(page,"Davit Osgrave");
await page.goto("/samples/new");
await fill(page,{"Where it comes from":"Q"});
await page.waitForTimeout(1000);
t0=Date.now(); wire.cut();
await page.getByRole("button",{name:"Receive the sample"}).click();
console.log(Date.now()-t0,"clicked");
await page.locator(".waiting").getByText("1 entry").waitFor();
console.log(Date.now()-t0,"band");
await browser.close(); wire.close(); await server.stop(); sweep(dir); process.exit(0)
