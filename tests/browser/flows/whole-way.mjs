// SPDX-License-Identifier: GPL-3.0-or-later
// The whole way through the pages, as a person takes it: first visit, a camera taken in, measured, taken apart with the
// phone, put together, measured again; then every page looked at in four ways. Run by tests/browser/run.
import assert from 'node:assert/strict';
import { readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { laptop, nested, open, phone, picture, press, runFlows, serve, sound } from '../bench.mjs';

const work = process.env.CW_WORK;
const flows = [];
const flow = (name, run) => flows.push({ name, run });

flow('a first visit ends in a verdict', async ({ browser, address }) => {
    const page = await open(browser, address, phone);
    await page.goto('/');
    await sound(page, 'the empty bench');
    await picture(page, 'empty-bench-phone');
    await press(page, page.getByRole('link', { name: /Check a shutter now/ }));
    await page.getByLabel('Readings at 1/250').fill('1/226 4.5 ms');
    await page.getByLabel('Readings at 1/1000').fill('1/420 1/424 1/418');
    await press(page, page.getByRole('button', { name: 'Show the verdict' }));
    // common practice, no source: 1/226 at a marked 1/250 is +0.15 EV; with 4.5 ms the mean is +0.16
    await page.getByRole('cell', { name: /\+0\.16/ }).waitFor();
    await page.getByText(/outside/).first().waitFor();
    await sound(page, 'the verdict');
    page.quiet();
});

flow('a reading that cannot be is refused and stays typed', async ({ browser, address }) => {
    const page = await open(browser, address, phone);
    page.expected = ['422'];
    await page.goto('/measure');
    await page.getByLabel('Readings at 1/60').fill('17.1');
    await press(page, page.getByRole('button', { name: 'Show the verdict' }));
    await page.getByRole('alert').getByText('is it in milliseconds?').waitFor();
    assert.equal(await page.getByLabel('Readings at 1/60').inputValue(), '17.1');
    page.quiet();
});

flow('a camera is taken in', async ({ browser, address }) => {
    const page = await open(browser, address, phone);
    page.expected = ['422'];
    await page.goto('/jobs/new');
    await sound(page, 'taking in');
    await page.getByLabel('Camera').fill('   ');
    await page.getByLabel('What is wrong').fill('slow speeds stick <b>badly</b>');
    await press(page, page.getByRole('button', { name: 'Take it in' }));
    await page.getByRole('alert').waitFor();
    assert.equal(await page.getByLabel('What is wrong').inputValue(), 'slow speeds stick <b>badly</b>');
    await page.getByLabel('Camera').fill('Ellory Reflex');
    await page.getByLabel('Serial number').fill('no. 4711');
    await page.getByLabel('Focal-plane shutter').check();
    await press(page, page.getByRole('button', { name: 'Take it in' }));
    assert.match(page.url(), /\/jobs\/1$/);
    assert.equal(await page.locator('.lead b').count(), 0, 'a complaint came through as markup');
    await sound(page, 'a new job');
    page.quiet();
});

async function giveRecording(page, file, when) {
    await page.goto(`/measure?job=1&when=${when}`);
    await page.getByLabel('Recording').setInputFiles(file);
    await press(page, page.getByRole('button', { name: 'Look at it' }));
}

flow('a recording becomes the test before', async ({ browser, address }) => {
    const page = await open(browser, address, laptop);
    await giveRecording(page, `${work}/ellory-reflex-before.wav`, 'before');
    await page.getByText('Proposed from the measured times').waitFor();
    await press(page, page.getByRole('button', { name: 'Take channel 4 as the flash contact' }));
    await page.getByLabel('Marked speeds, in the order fired').fill('1,1/4,1/15,1/60,1/125,1/250,1/500,1/1000');
    await page.getByLabel('Shots at each speed').fill('3');
    await page.getByLabel('Sensor positions along the travel').fill('4,18,32');
    await press(page, page.getByRole('button', { name: 'Work it out with this plan' }));
    await sound(page, 'a recording with its plan');
    await picture(page, 'recording-laptop');
    await press(page, page.getByRole('button', { name: 'Keep it as a test' }));
    await page.getByRole('heading', { name: 'Shutter test, before' }).waitFor();
    assert.equal(await page.locator('svg.cw-plot').first().isVisible(), true);
    // the trace comes by itself, and goes closer without leaving the page
    await page.locator('#trace').scrollIntoViewIfNeeded();
    const trace = page.locator('#trace svg.cw-plot');
    await trace.waitFor();
    const before = await trace.innerHTML();
    await page.getByRole('link', { name: 'Closer' }).click();
    await page.waitForFunction((old) => document.querySelector('#trace svg.cw-plot').innerHTML !== old, before);
    await sound(page, 'a shutter test');
    page.quiet();
});

flow('what is no recording says so and nothing is kept', async ({ browser, address }) => {
    const page = await open(browser, address, laptop);
    page.expected = ['422'];
    writeFileSync(`${work}/note.txt`, 'this is no recording\n');
    await giveRecording(page, `${work}/note.txt`, 'before');
    await page.getByRole('alert').waitFor();
    const tests = await (await page.request.get('/jobs/1.json')).json();
    assert.equal(tests.tests.length, 1);
    page.quiet();
});

flow('a worksheet is worked out, taken along and kept', async ({ browser, address }) => {
    const page = await open(browser, address, laptop);
    page.expected = ['422'];
    await page.goto('/worksheets');
    await sound(page, 'the worksheets');
    const sheets = (await (await page.request.get('/worksheets.json')).json()).worksheets;
    assert.ok(sheets.length > 0);
    // every sheet's worked example gives a result, and every file it offers is there
    for (const sheet of sheets) {
        const form = await (await page.request.get(`/worksheets/${sheet.name}`)).text();
        const example = /class='button' href='([^']*)'>Show a worked example/.exec(form);
        assert.ok(example, `${sheet.name} has no example`);
        const result = await (await page.request.get(example[1].replaceAll('&amp;', '&'))).text();
        assert.ok(result.includes('<h2>Result</h2>'), `${sheet.name}: its example gives no result`);
        nested(result, sheet.name);
        const files = [...result.matchAll(/href='([^']*\.(?:svg|pdf|dxf|stl)[^']*)'/g)];
        await Promise.all(files.map(async ([, href]) => {
            const file = await page.request.get(href.replaceAll('&amp;', '&'));
            assert.equal(file.status(), 200, `${sheet.name}: ${href}`);
            assert.ok((await file.body()).length > 100, href);
        }));
    }
    await page.goto('/worksheets/light-value');
    await press(page, page.getByRole('link', { name: 'Show a worked example' }));
    await sound(page, 'a worksheet');
    await page.goto('/worksheets/light-value?aperture=f8&time=1/125');
    await page.getByRole('alert').waitFor();
    assert.equal(await page.getByLabel(/Aperture/).inputValue(), 'f8');
    await page.getByLabel(/Aperture/).fill('8');
    await press(page, page.getByRole('button', { name: 'Work it out' }));
    await page.getByText('Keep this in a job').click();
    await page.getByLabel('What it is for').fill('outdoor check');
    await press(page, page.getByRole('button', { name: 'Keep in the job' }));
    await press(page, page.getByRole('link', { name: /outdoor check/ }));
    await page.getByText('12.97 EV').first().waitFor();
    await sound(page, 'a kept worksheet');
    page.quiet();
});

flow('the phone notes two steps, their parts and a photo', async ({ browser, address }) => {
    const page = await open(browser, address, phone);
    await page.goto('/jobs/1/add');
    await sound(page, 'the first step');
    await page.getByLabel('Photo', { exact: true }).setInputFiles({ name: 'IMG_1.jpg', mimeType: 'image/jpeg',
        buffer: await page.screenshot({ type: 'jpeg' }) });
    await page.getByLabel('What comes off').fill('Top cover');
    await press(page, page.getByRole('button', { name: 'Keep this step' }));
    // two taps: three, into tray 1
    await page.getByLabel('3', { exact: true }).check();
    await press(page, page.getByRole('button', { name: 'new tray 1' }));
    await page.locator('strong', { hasText: '3 × screw' }).waitFor();
    await page.getByText(/3 still out/).waitFor();
    await page.getByLabel('What comes off').fill('Advance spring');
    await page.getByText('Left-hand thread, springs').click();
    await page.getByLabel('Left-hand thread', { exact: true }).check();
    await page.getByLabel('What can fly').fill('the spring itself');
    await press(page, page.getByRole('button', { name: 'Keep this step' }));
    await page.getByText('Say it in words').click();
    await page.getByLabel('Parts, as you would say it').fill('one spring into tray 2');
    await press(page, page.getByRole('button', { name: 'Keep the parts' }));
    await page.getByText(/4 still out/).waitFor();
    await sound(page, 'the phone page');
    await picture(page, 'add-phone');
    page.quiet();
});

flow('marks are placed by tapping', async ({ browser, address }) => {
    const page = await open(browser, address, phone);
    await page.goto('/photos/1');
    await Promise.all([page.waitForEvent('load'), page.locator('.tapped.slim input[type=image]').tap({ position: { x: 81, y: 60 } })]);
    const width = Number(await page.locator('.tapped.slim input[type=image]').getAttribute('width'));
    await page.getByLabel('What mark 1 shows').fill('the short screw');
    await page.getByLabel('Which way mark 1 points').selectOption('90');
    await press(page, page.getByRole('button', { name: 'Keep', exact: true }).first());
    const photo = await (await page.request.get('/photos/1.json')).json();
    assert.equal(photo.marks.length, 1);
    assert.ok(Math.abs(photo.marks[0].x - 81 / width) < 0.01, `x is ${photo.marks[0].x}`);
    assert.equal(photo.marks[0].text, 'the short screw');
    assert.equal(photo.marks[0].hook_deg, 90);
    await sound(page, 'a photo with a mark');
    page.quiet();
});

flow('steps are moved, inserted, split, and undone', async ({ browser, address }) => {
    const page = await open(browser, address, laptop);
    const titles = async () => (await (await page.request.get('/jobs/1.json')).json()).steps.map((step) => step.title);
    await page.goto('/jobs/1/steps');
    await press(page, page.getByRole('button', { name: 'Later' }).first());
    assert.deepEqual(await titles(), ['Advance spring', 'Top cover']);
    await page.goto('/jobs/1/history');
    await press(page, page.getByRole('button', { name: /^Undo:/ }));
    assert.deepEqual(await titles(), ['Top cover', 'Advance spring']);
    await page.goto('/jobs/1/steps');
    await press(page, page.getByRole('link', { name: 'Insert one after it' }).first());
    await page.getByLabel('What comes off').fill('Rewind knob');
    await page.getByLabel('How long it took').fill('3');
    await press(page, page.getByRole('button', { name: 'Put it in' }));
    assert.deepEqual(await titles(), ['Top cover', 'Rewind knob', 'Advance spring']);
    await sound(page, 'the steps');
    await page.goto('/steps/1');
    await page.getByText('Split it in two').click();
    await page.getByLabel('The second step is called').fill('Screws of the cover');
    await page.getByText('came off in the second').click();
    await press(page, page.getByRole('button', { name: 'Split', exact: true }));
    assert.deepEqual(await titles(), ['Top cover', 'Screws of the cover', 'Rewind knob', 'Advance spring']);
    page.quiet();
});

flow('it goes together with nothing left over', async ({ browser, address }) => {
    const page = await open(browser, address, laptop);
    await page.goto('/jobs/1/together');
    await sound(page, 'putting together');
    await picture(page, 'together-laptop');
    await page.getByText(/4 still out/).waitFor();
    await page.getByRole('button', { name: 'Done, all its parts are back' }).first().click();
    await page.getByText(/3 still out/).waitFor(); // without leaving the page
    for (let back = 2; back <= 4; back++) {
        await page.locator('.panel.next').getByRole('button', { name: /^Done/ }).click();
        await page.waitForFunction((n) => document.querySelectorAll('.panel.done').length >= n, back);
    }
    await page.getByText('every part accounted for').waitFor();
    page.quiet();
});

flow('measured again, it is proved', async ({ browser, address }) => {
    const page = await open(browser, address, laptop);
    await giveRecording(page, `${work}/ellory-reflex-after.wav`, 'after');
    await page.getByText('Light, contact, tolerance').click();
    await page.getByLabel('Channel of the flash contact').fill('4');
    await page.getByLabel('Marked speeds, in the order fired').fill('1,1/4,1/15,1/60,1/125,1/250,1/500,1/1000');
    await page.getByLabel('Shots at each speed').fill('3');
    await press(page, page.getByRole('button', { name: 'Work it out with this plan' }));
    await press(page, page.getByRole('button', { name: 'Keep it as a test' }));
    await page.getByRole('heading', { name: 'Before against after' }).waitFor();
    await page.goto('/jobs/1');
    await picture(page, 'job-laptop');
    await sound(page, 'a job with both tests');
    page.quiet();
});

flow('the way in, a circle named, and the next camera led by this one', async ({ browser, address }) => {
    const page = await open(browser, address, laptop);
    page.expected = ['409'];
    await page.goto('/jobs/1/way');
    const note = async (under, over) => {
        await page.getByLabel('This', { exact: true }).fill(under);
        await page.getByLabel('lies under that').fill(over);
        await press(page, page.getByRole('button', { name: 'Note it' }));
    };
    await note('winding gear', 'top cover');
    await note('top cover', 'rewind knob');
    await note('rewind knob', 'winding gear'); // that cannot be
    await page.getByRole('alert').getByText(/winding gear/).waitFor();
    await page.goto('/jobs/1/way?to=winding+gear');
    assert.deepEqual(await page.locator('.panel ol li').allInnerTexts(), ['rewind knob', 'top cover', 'winding gear is reached']);
    await page.goto('/jobs/new?plan=1');
    assert.equal(await page.getByLabel('Camera').inputValue(), 'Ellory Reflex');
    await page.getByLabel('Serial number').fill('no. 4712');
    await press(page, page.getByRole('button', { name: 'Take it in' }));
    await page.goto(`${page.url()}/add`);
    await page.getByText('Last time, the next step was').waitFor();
    await sound(page, 'a planned step');
    await press(page, page.getByRole('button', { name: 'Done like that' }));
    await page.getByRole('heading', { name: /Step 1: Top cover/ }).waitFor();
    page.quiet();
});

flow('notes are found again, also as one types', async ({ browser, address }) => {
    const page = await open(browser, address, phone);
    await page.goto('/search?q=sprng');
    await page.getByText(/Advance spring/).first().waitFor();
    await sound(page, 'what was found');
    await page.getByRole('searchbox').fill('rewind');
    await page.locator('#hits').getByText('Rewind knob').first().waitFor();
    page.quiet();
});

flow('paper and files can be taken away, and a job taken in again', async ({ browser, address }) => {
    const page = await open(browser, address, laptop);
    for (const file of ['report.pdf', 'teardown.pdf?paper=Letter', 'reassembly.pdf', 'labels.pdf?diameter=25']) {
        const pdf = await page.request.get(`/jobs/1/${file}`);
        assert.equal(pdf.status(), 200, file);
        assert.equal((await pdf.body()).subarray(0, 5).toString(), '%PDF-', file);
    }
    // what was photographed at a step stands in the report beside it, with its marks
    await page.goto('/jobs/1/report');
    const shown = page.locator('#work .record');
    assert.equal(await shown.locator('img').count(), 1);
    assert.equal(await shown.locator('svg .mark text').innerHTML(), '1');
    await sound(page, 'the report with photos');
    await picture(page, 'report-with-photos');
    const notes = await page.request.get('/jobs/1/notes.zip');
    assert.equal(notes.status(), 200);
    const inside = (await notes.body()).toString('latin1'); // names stand as they are in a zip's directory
    assert.match(inside, /ellory-reflex-job-1\.md/);
    assert.match(inside, /ellory-reflex-job-1-photos\/[^/]+\.(jpg|png)/);
    assert.deepEqual(readdirSync(`${work}/bench/incoming`), []);
    const zip = await page.request.get('/jobs/1/export.zip');
    assert.equal(zip.status(), 200);
    await page.goto('/import');
    await sound(page, 'taking a job in from a file');
    await page.getByLabel('Zip file').setInputFiles({ name: 'job.zip', mimeType: 'application/zip', buffer: await zip.body() });
    await press(page, page.getByRole('button', { name: 'Take it in' }));
    await page.getByRole('heading', { name: /Ellory Reflex/ }).waitFor();
    page.quiet();
});

flow('a tool hangs in the rack and is found; hours are counted', async ({ browser, address }) => {
    const page = await open(browser, address, laptop);
    page.expected = ['422'];
    await page.goto('/tools/new');
    await page.getByLabel('Name').fill('Wrench for the rear ring');
    await page.getByLabel('Sizes').fill('span 23.4 mm\ntip-width wide');
    await press(page, page.getByRole('button', { name: 'Hang it up' }));
    await page.getByRole('alert').getByText('tip-width').waitFor();
    await page.getByLabel('Sizes').fill('span 0.92 in\ntip-width 1,2');
    await press(page, page.getByRole('button', { name: 'Hang it up' }));
    await sound(page, 'a tool');
    const tools = await (await page.request.get('/tools.json')).json();
    assert.ok(Math.abs(tools.tools[0].sizes_mm.span - 23.368) < 1e-6);
    assert.ok(Math.abs(tools.tools[0].sizes_mm.tip_width - 1.2) < 1e-6);
    await page.goto('/search?q=wrench');
    await press(page, page.getByRole('link', { name: /Wrench for the rear ring/ }));
    await page.goto('/jobs/1/costs');
    await page.getByLabel('What').fill('cleaning');
    await page.getByLabel('Time').fill('1.5 h');
    await press(page, page.getByRole('button', { name: 'Add', exact: true }));
    await page.getByText('1 h 30 min').first().waitFor();
    await sound(page, 'hours and costs');
    page.quiet();
});

flow('everything works without scripts', async ({ browser, address }) => {
    const page = await open(browser, address, { ...phone, javaScriptEnabled: false });
    await page.goto('/jobs/new');
    await page.getByLabel('Camera').fill('Tarnbrook 35');
    await press(page, page.getByRole('button', { name: 'Take it in' }));
    assert.match(page.url(), /\/jobs\/\d+$/);
    await page.goto('/tests/1');
    await press(page, page.getByRole('link', { name: 'Show the trace' }));
    await press(page, page.getByRole('link', { name: 'Closer' }));
    assert.ok(await page.locator('#trace svg.cw-plot').isVisible());
    await page.goto('/jobs/1/together');
    await press(page, page.getByRole('button', { name: 'Open it again' }).first());
    await press(page, page.getByRole('button', { name: /^Done/ }).first());
    page.quiet();
});

const everyPage = ['/', '/?stage=apart', '/jobs/new', '/jobs/1', '/jobs/1/edit', '/jobs/1/add', '/jobs/1/steps',
    '/jobs/1/steps/new', '/jobs/1/trays', '/jobs/1/together', '/jobs/1/history', '/steps/1', '/steps/1/edit', '/parts/1',
    '/photos/1', '/jobs/1/way?to=winding+gear', '/jobs/1/paper', '/jobs/1/costs', '/tools', '/tools?span=23.4&slot=1.2', '/tools/new', '/tools/1', '/search', '/search?q=cover', '/import', '/jobs/new?plan=1', '/measure', '/recordings/1?job=1', '/tests/1', '/tests/1/trace', '/saved/1', '/worksheets',
    '/worksheets/light-value', '/door', '/pair'];

flow('every page, on phone and laptop, light and dark', async ({ browser, address }) => {
    const ways = [['phone-light', { ...phone, colorScheme: 'light' }], ['phone-dark', { ...phone, colorScheme: 'dark' }],
        ['laptop-light', { ...laptop, colorScheme: 'light' }], ['laptop-dark', { ...laptop, colorScheme: 'dark' }]];
    await Promise.all(ways.map(async ([name, options]) => {
        const page = await open(browser, address, options);
        for (const path of everyPage) {
            const answer = await page.goto(path);
            assert.equal(answer.status(), 200, path);
            nested(await answer.text(), path);
            await sound(page, `${path} (${name})`);
            await picture(page, `${name}-${path.replace(/[^a-z0-9]+/gi, '-')}`);
        }
        page.expected = ['404'];
        await page.goto('/jobs/999999');
        await sound(page, 'not found');
        page.quiet();
    }));
});

// Every page the program knows, from its own table, with the rows this bench has.
const filled = { '/': '/jobs', '/worksheets/*': '/worksheets/light-value' };
const asked = { '/measure': '?mark.0=1/250&read.0=1/226', '/search': '?q=cover', '/jobs/#/way': '?to=top+cover' };
// what these need is made in by-ear.mjs, photographs.mjs, thread.mjs, materials.mjs and compare.mjs, which ask for their twins
const elsewhere = new Set(['/sounds/#', '/photographs/#', '/jobs/#/lists/#', '/materials/#', '/worksheets/*/compare']);
const routes = [...readFileSync(new URL('../../../src/web/routes.c', import.meta.url), 'utf8')
    .matchAll(/\{"GET", "([^"]+)", (page_\w+), (\w+),/g)].map(([, pattern, , twin]) => ({ pattern, twin }));

flow('every page has its twin', async ({ browser, address }) => {
    const page = await open(browser, address, laptop);
    assert.ok(routes.length > 30, 'the table of routes is not read as it is written');
    for (const { pattern, twin } of routes) {
        assert.ok(twin !== 'NULL' || pattern === '/', `${pattern} has no twin`);
        if (elsewhere.has(pattern))
            continue;
        const path = (filled[pattern] ?? pattern).replaceAll('#', '1');
        const answer = await page.request.get(`${path}.json${asked[pattern] ?? ''}`);
        assert.equal(answer.status(), 200, `${path}.json`);
        assert.match((await answer.json()).format, /^camerawright\./, path);
    }
    const missing = await page.request.get('/jobs/999999.json');
    assert.equal(missing.status(), 404);
    assert.equal((await missing.json()).status, 'not-found');
});

flow('the door shows a code only with --lan', async ({ browser, address }) => {
    const page = await open(browser, address, laptop);
    await page.goto('/door');
    await page.getByText('Only this laptop can see the bench').waitFor();
    const lan = await serve(`${work}/lan-bench`, '--lan');
    try {
        const open_page = await open(browser, lan.address, laptop);
        await open_page.goto('/door');
        const code = (await open_page.locator('.code').innerText()).trim();
        assert.match(code, /^[2-9A-Z]{4}-[2-9A-Z]{4}$/);
        assert.ok(lan.printed.includes('Plain HTTP') || lan.printed.includes('plain HTTP'), lan.printed);
        await open_page.locator('svg.qr').waitFor();
        await open_page.getByText('Plain HTTP.').waitFor();
        await sound(open_page, 'the door');
        await picture(open_page, 'door-lan');
        open_page.quiet();
    } finally {
        await lan.stop();
    }
    page.quiet();
});

await runFlows(flows);
