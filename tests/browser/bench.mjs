// SPDX-License-Identifier: GPL-3.0-or-later
// The program under test, the browser, and the checks that hold for every page.
import { spawn } from 'node:child_process';
import { readFileSync, mkdirSync } from 'node:fs';
import { createRequire } from 'node:module';
import assert from 'node:assert/strict';
import { chromium } from 'playwright-core';

const axeSource = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const flags = ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking',
    '--disable-component-update', '--disable-sync'];

export const phone = { viewport: { width: 360, height: 740 }, hasTouch: true };
export const laptop = { viewport: { width: 1280, height: 800 } };

// Starts `camerawright serve` on a free port; resolves with its address once it has printed it.
export function serve(bench, ...options) {
    const child = spawn(process.env.CW_PROGRAM, ['serve', '--bench', bench, '--port', '0', ...options]);
    const server = { child, printed: '', complaints: '' };
    child.stderr.on('data', (piece) => { server.complaints += piece; });
    server.ready = new Promise((resolve, reject) => {
        child.stdout.on('data', (piece) => {
            server.printed += piece;
            const found = /laptop: (\S+?)\/\s/.exec(server.printed);
            if (found && server.printed.includes('Ctrl-C')) {
                server.address = found[1];
                resolve(server);
            }
        });
        child.on('exit', (code) => reject(new Error(`the program ended with ${code}: ${server.complaints}`)));
    });
    server.stop = () => new Promise((resolve) => {
        child.removeAllListeners('exit');
        child.on('exit', (code) => resolve(code));
        child.kill('SIGTERM');
    });
    return server.ready;
}

export async function launch() {
    return chromium.launch({ executablePath: process.env.CW_CHROMIUM, args: flags });
}

// A page whose console has to stay silent; check it with page.quiet().
export async function open(browser, address, options) {
    const context = await browser.newContext({ baseURL: address, acceptDownloads: true, ...options });
    context.setDefaultTimeout(30000);
    const page = await context.newPage();
    const said = [];
    page.expected = [];
    page.on('console', (message) => {
        if (!page.expected.some((words) => message.text().includes(words)))
            said.push(`${page.url()}: ${message.type()}: ${message.text()}`);
    });
    page.on('pageerror', (error) => said.push(`${page.url()}: ${error}`));
    page.quiet = () => assert.deepEqual(said, [], 'the browser console has something to say');
    return page;
}

// No rule of axe broken, nothing wider than the screen, no target under 48 px that is not a link inside a sentence.
export async function sound(page, what) {
    const script = page.context()._options?.javaScriptEnabled !== false;
    if (!script)
        return;
    await page.evaluate(axeSource);
    const { violations } = await page.evaluate(() => axe.run());
    const told = violations.map((v) => `${v.id}: ${v.help}\n${v.nodes.slice(0, 3).map((n) => `    ${n.html.slice(0, 200)}`).join('\n')}`);
    assert.deepEqual(told, [], `${what} (${page.url()}) breaks rules of accessibility:\n${told.join('\n')}`);
    const shape = await page.evaluate(() => {
        const small = [];
        for (const target of document.querySelectorAll('main a, main button, main summary, main select, main input:not([type=hidden]):not([type=checkbox]):not([type=radio]), nav a')) {
            const box = target.getBoundingClientRect();
            const inSentence = target.matches('p a, li > strong a, h1 a, h2 a, svg a') && !target.matches('.main, .button, .trail a');
            if (box.width > 0 && box.height > 0 && box.height < 47.5 && !inSentence)
                small.push(`${target.outerHTML.slice(0, 120)} is ${box.height} px high`);
        }
        return { tooWide: document.documentElement.scrollWidth - window.innerWidth, small };
    });
    assert.ok(shape.tooWide <= 0, `${what} (${page.url()}) is ${shape.tooWide} px wider than the screen`);
    assert.deepEqual(shape.small, [], `${what} (${page.url()}) has targets too small for a thumb`);
}

// Every tag closed in its order, and nothing in a paragraph that a parser would end the paragraph for.
export function nested(source, what) {
    const alone = new Set(['meta', 'link', 'input', 'img', 'br', 'hr', '!doctype']);
    const blocks = new Set(['div', 'form', 'p', 'ul', 'ol', 'dl', 'table', 'section', 'fieldset', 'details', 'figure', 'h1', 'h2', 'h3', 'pre']);
    const stack = [];
    for (const [whole, slash, name, rest] of source.matchAll(/<(\/?)([a-z!][a-z0-9]*)((?:[^>"']|"[^"]*"|'[^']*')*)>/gi)) {
        const tag = name.toLowerCase();
        if (alone.has(tag) || rest.endsWith('/'))
            continue;
        if (slash)
            assert.equal(stack.pop(), tag, `${what}: ${whole} closes something else`);
        else {
            assert.ok(!(stack.includes('p') && blocks.has(tag)), `${what}: ${whole} inside a paragraph`);
            stack.push(tag);
        }
    }
    assert.deepEqual(stack, [], `${what}: left open`);
}

export async function picture(page, name) {
    const folder = process.env.CW_SCREENSHOTS;
    if (!folder)
        return;
    mkdirSync(folder, { recursive: true });
    await page.screenshot({ path: `${folder}/${name}.png`, fullPage: true });
}

// Waits until the page that follows a press is there.
export async function press(page, locator) {
    await Promise.all([page.waitForEvent('load'), locator.click()]);
}

// Serves one bench and runs the flows of one file on it, in order; the first that fails ends the file, for they build on one
// another. Ends the process: 0 when all is well and the program had no complaint of its own.
export async function runFlows(flows, { bench = 'bench', options = [] } = {}) {
    const only = process.argv[2], started = Date.now();
    const server = await serve(`${process.env.CW_WORK}/${bench}`, ...options);
    const browser = await launch();
    let failed = 0;
    for (const { name, run } of flows) {
        if (only && !name.includes(only))
            continue;
        const at = Date.now();
        try {
            await run({ browser, address: server.address });
            console.log(`ok      ${name} (${Date.now() - at} ms)`);
        } catch (error) {
            failed++;
            for (const context of browser.contexts())
                for (const [index, page] of context.pages().entries())
                    await picture(page, `failed-${index}`);
            const lines = error.stack?.split('\n').filter((line) => line.includes('.mjs:') && !line.includes('bench.mjs'));
            console.log(`FAILED  ${name}\n${error.message}\n${lines?.join('\n')}`);
            break;
        }
    }
    await browser.close();
    const code = await server.stop();
    if (code !== 0 || server.complaints) {
        console.log(`FAILED  the program ended with ${code} and said:\n${server.complaints.slice(0, 4000)}`);
        failed++;
    }
    console.log(`${failed ? 'FAILED' : 'all well'} after ${((Date.now() - started) / 1000).toFixed(1)} s`);
    process.exit(failed ? 1 : 0);
}
