// SPDX-License-Identifier: GPL-3.0-or-later
// Measuring live: the gate's own firmware in the simulator on a pseudo terminal, into the program, onto the page.
import assert from 'node:assert/strict';
import { spawn } from 'node:child_process';
import { dirname } from 'node:path';
import { laptop, nested, open, phone, picture, press, runFlows, sound } from '../bench.mjs';

const build = dirname(process.env.CW_PROGRAM);
const flows = [];
const flow = (name, run) => flows.push({ name, run });

// The gate without hardware. dark(): when the last sensor of each shot went dark, Unix milliseconds.
function gate() {
    const child = spawn(`${build}/tests/firmware/gate-on-a-pty`, ['--tell', '1'],
        { env: { ...process.env, CW_GATE_ELF: `${build}/firmware/light-gate/light-gate.elf` } });
    const made = { ports: [], darks: [], say: (line) => child.stdin.write(`${line}\n`), quit: () => child.stdin.end('quit\n') };
    let rest = '';
    made.ready = new Promise((resolve) => child.stdout.on('data', (piece) => {
        const lines = (rest + piece).split('\n');
        rest = lines.pop();
        for (const line of lines) {
            if (line.startsWith('port ')) made.ports.push(line.slice(5));
            if (line.startsWith('dark ')) made.darks.push(1000 * Number(line.slice(5)));
        }
        if (made.ports.length > 0) resolve(made);
    }));
    return made.ready;
}

const pause = (ms) => new Promise((done) => setTimeout(done, ms));
const reading = (page, number) => page.locator(`#live-reading[data-shot="${number}"]`);
const state = async (page) => (await page.request.get('/live.json')).json();

async function begin(page, port, marks, each) {
    await page.goto('/live');
    await page.getByLabel('Marked speeds, in the order fired').fill(marks);
    await page.getByLabel('Shots at each speed').fill(String(each));
    await page.getByLabel('Sensor positions along the travel').fill('4,18,32');
    await page.getByLabel('Port of the gate').fill(port);
    await press(page, page.getByRole('button', { name: 'Begin' }));
    await page.getByText('light gate found').first().waitFor();
}

flow('set up on the phone, and what cannot be is refused with everything still typed', async ({ browser, address }) => {
    const page = await open(browser, address, phone);
    page.expected = ['422'];
    await page.goto('/');
    await press(page, page.getByRole('link', { name: /Measure live/ }));
    await sound(page, 'before a live test');
    await picture(page, 'live-begin-phone');
    await page.getByLabel('Marked speeds, in the order fired').fill('1/250, sideways');
    await page.getByLabel('Port of the gate').fill('/dev/ttyUSB9');
    await press(page, page.getByRole('button', { name: 'Begin' }));
    await page.getByRole('alert').getByText('sideways').waitFor();
    assert.equal(await page.getByLabel('Port of the gate').inputValue(), '/dev/ttyUSB9');
    page.quiet();
});

flow('fire, read, next speed; strike out; keep', async ({ browser, address }) => {
    const bridge = await gate();
    const page = await open(browser, address, laptop), hand = await open(browser, address, phone);
    await begin(page, bridge.ports[0], '1/60,1/250', 2);
    await hand.goto('/live');
    bridge.say('fire 0.0167 0.014');
    await reading(page, 1).getByText('1/59.9 s').or(reading(page, 1).getByText('1/60 s')).first().waitFor();
    await reading(hand, 1).waitFor();
    await page.getByText('1 of 2 fired').waitFor();
    bridge.say('fire 0.0167 0.014');
    await reading(page, 2).waitFor();
    assert.equal(await page.locator('.set .far').innerText(), '1/250');
    bridge.say('fire 0.006 0.014');
    await reading(page, 3).waitFor();
    await page.locator('.last').getByText('slow by half a stop').or(page.locator('.last').getByText('slow by two thirds')).first().waitFor();
    await page.getByText(/Shot 3: .*slow by/).waitFor({ state: 'attached' });

    // struck out with a reason, taken back, struck out from the keyboard: the page is not left for it
    await page.getByLabel('Why the next shot').fill('wound only half');
    await page.getByRole('button', { name: 'Strike out shot 3' }).click();
    await page.getByText('struck out: wound only half').waitFor();
    await page.getByRole('button', { name: 'Take back shot 3' }).click();
    await page.getByRole('button', { name: 'Strike out shot 3' }).waitFor();
    await page.evaluate(() => document.activeElement.blur());
    await page.keyboard.press('x');
    await page.getByRole('button', { name: 'Take back shot 3' }).waitFor();
    await page.evaluate(() => document.activeElement.blur());
    await page.keyboard.press('ArrowLeft');
    await page.locator('.set .far', { hasText: '1/60' }).waitFor();
    await page.keyboard.press('Enter');
    await page.locator('.set .far', { hasText: '1/250' }).waitFor();
    for (const shot of [4, 5]) {
        bridge.say('fire 0.0041 0.014');
        await reading(page, shot).waitFor();
    }
    await page.locator('.set .far', { hasText: 'done' }).waitFor();
    for (const [one, name] of [[page, 'laptop'], [hand, 'phone']])
        for (const scheme of ['light', 'dark']) {
            await one.emulateMedia({ colorScheme: scheme });
            await reading(one, 5).waitFor();
            await sound(one, `a live test, ${name}, ${scheme}`);
            await picture(one, `live-${name}-${scheme}`);
        }
    nested(await (await page.request.get('/live')).text(), '/live');
    const twin = await state(page);
    assert.equal(twin.shots.length, 5);
    assert.equal(twin.shots[2].struck, true);
    assert.ok(Math.abs(twin.shots[4].exposure_s / 0.0041 - 1) < 0.006, `${twin.shots[4].exposure_s}`);

    await press(page, page.getByRole('button', { name: 'Stop, keep the test' }));
    await page.getByLabel('Or a new camera').fill('Ellory Reflex');
    await sound(page, 'a live test at rest');
    await picture(page, 'live-rest-laptop');
    await press(page, page.getByRole('button', { name: 'Keep as a test' }));
    await page.getByRole('heading', { name: 'Shutter test, before' }).waitFor();
    assert.equal((await state(page)).state, 'free');
    page.quiet();
    hand.quiet();
    bridge.quit();
});

flow('the cable is pulled, another page comes late, and nothing shown is lost', async ({ browser, address }) => {
    const bridge = await gate();
    const page = await open(browser, address, laptop);
    await begin(page, bridge.ports[0], '1/125', 3);
    bridge.say('fire 0.008 0.014');
    await reading(page, 1).waitFor();
    bridge.say('unplug');
    await page.locator('.notice', { hasText: 'unplugged' }).waitFor();
    const plain = await open(browser, address, { ...phone, javaScriptEnabled: false });
    await plain.goto('/live');
    assert.equal(await reading(plain, 1).count(), 1);
    await press(plain, plain.getByRole('button', { name: 'Strike out shot 1' }));
    await plain.getByText('struck out').first().waitFor();
    await press(plain, plain.getByRole('button', { name: 'Next speed' }));
    await press(plain, plain.getByRole('link', { name: 'Look again' }));
    await page.getByRole('button', { name: 'Take back shot 1' }).waitFor();
    await press(plain, plain.getByRole('button', { name: 'Stop, keep the test' }));
    await plain.getByText('Throw it away').click();
    await plain.getByLabel('These shots are of no use').check();
    await press(plain, plain.getByRole('button', { name: 'Throw this live test away' }));
    assert.equal((await state(page)).state, 'free');
    page.quiet();
    bridge.quit();
});

flow('from the closing edge to the number on the page', async ({ browser, address }) => {
    const bridge = await gate();
    const page = await open(browser, address, laptop);
    await begin(page, bridge.ports[0], '1/125', 40);
    await page.evaluate(() => {
        window.shown = [];
        new MutationObserver(() => {
            const shot = document.getElementById('live-reading')?.dataset.shot;
            if (shot && Number(shot) > window.shown.length) requestAnimationFrame(() => {
                if (Number(shot) > window.shown.length) window.shown.push(performance.timeOrigin + performance.now());
            });
        }).observe(document.querySelector('[sse-swap=state]'), { childList: true, subtree: true });
    });
    const shots = 25;
    for (let shot = 1; shot <= shots; shot++) {
        bridge.say(shot % 2 ? 'fire 0.008 0.014' : 'leaf 0.008');
        await reading(page, shot).waitFor();
        await pause(90 + 7 * (shot % 5));
    }
    const shown = await page.evaluate(() => window.shown);
    const took = shown.map((at, i) => at - bridge.darks[i]).sort((a, b) => a - b);
    const median = took[took.length >> 1];
    console.log(`        closing edge to the number drawn: median ${median.toFixed(0)} ms, ${took[0].toFixed(0)} to ${took.at(-1).toFixed(0)} ms over ${took.length} shots`);
    assert.equal(took.length, shots);
    assert.ok(took[0] > 0, 'shown before it happened: the clocks do not agree');
    page.quiet();
    await page.request.post('/live/rest', { form: { token: await page.locator('#live').getAttribute('data-token') } });
    bridge.quit();
});

await runFlows(flows);
