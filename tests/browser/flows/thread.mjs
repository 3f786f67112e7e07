// SPDX-License-Identifier: GPL-3.0-or-later
// The thread: a camera walked from taken in to handed on at phone width by pressing the main button, its guided lists, its
// test film, its proving sheet, and the lamps a meter is compared with.
import assert from 'node:assert/strict';
import { laptop, open, phone, picture, press, runFlows, sound } from '../bench.mjs';

const flows = [];
const flow = (name, run) => flows.push({ name, run });
const main = (page) => page.locator('main .main:visible').first();
const next = (page) => page.locator('#next .main');
const json = async (page, address) => (await page.request.get(address)).json();

// Exactly one button says "this is what to do now".
async function oneMain(page, what) {
    const labels = await page.locator('main .main:visible').allInnerTexts();
    assert.ok(labels.length === 1, `${what} has ${labels.length} main buttons: ${labels.join(' | ')}`);
}

flow('taken in, it proposes the tests of its kind', async ({ browser, address }) => {
    const page = await open(browser, address, phone);
    await page.goto('/');
    await press(page, page.getByRole('link', { name: /Take a camera in/ }));
    await sound(page, 'taking in');
    await picture(page, 'thread-taking-in');
    await page.getByLabel('Camera').fill('Tarnbrook 35');
    await page.getByLabel('What is wrong').fill('slow speeds stick, a leak at the hinge');
    await page.getByLabel('Leaf shutter').check();
    await page.getByLabel('Finder', { exact: true }).selectOption('rangefinder');
    await page.getByRole('group', { name: 'Light meter' }).getByLabel('On a battery').check();
    await page.getByRole('group', { name: 'Flash contact' }).getByLabel('No', { exact: true }).check();
    await page.getByRole('group', { name: 'Bellows' }).getByLabel('No', { exact: true }).check();
    await press(page, page.getByRole('button', { name: 'Take it in' }));
    await sound(page, 'a job just taken in');
    await picture(page, 'thread-taken-in');
    await oneMain(page, 'a job just taken in');
    assert.equal(await next(page).innerText(), 'Measure the shutter as it is');
    const owed = (await json(page, '/jobs/1/prove.json')).tests.filter((one) => one.owed).map((one) => one.test);
    assert.deepEqual(owed, ['shutter', 'focus', 'finder', 'meter', 'leaks', 'film']);
    page.quiet();
});

flow('one tap to each test before', async ({ browser, address }) => {
    const page = await open(browser, address, phone);
    await page.goto('/jobs/1');
    await press(page, next(page));
    await page.getByLabel('Readings at 1/60').fill('1/58');
    await page.getByLabel('Readings at 1/125').fill('1/62');
    await press(page, page.getByRole('button', { name: 'Show the verdict' }));
    await press(page, page.getByRole('button', { name: 'Keep as a test' }));
    await page.goto('/jobs/1');
    assert.equal(await next(page).innerText(), 'Check the focus as it is');
    await page.getByText('1 of 2 speeds inside; outside: 1/125').waitFor();
    await press(page, page.locator('#before').getByRole('link', { name: 'Check the meter as it is' }));
    await sound(page, 'the meter check for a job');
    await page.getByLabel('Reference, row 1').fill('8');
    await page.getByLabel('Meter shows, row 1').fill('7.2');
    await page.getByLabel('Reference, row 2').fill('12');
    await page.getByLabel('Meter shows, row 2').fill('11.1');
    await page.getByLabel('Reference, row 3').fill('15');
    await page.getByLabel('Meter shows, row 3').fill('14.2');
    await press(page, page.getByRole('button', { name: 'Work it out' }));
    await press(page, page.getByRole('button', { name: 'Keep it as the test before the work' }));
    const meter = (await json(page, '/jobs/1/prove.json')).tests.find((one) => one.test === 'meter');
    assert.equal(meter.before.verdict, 'outside');
    assert.equal(meter.after, null);
    page.quiet();
});

flow('a guided list is answered with taps and leaves a record', async ({ browser, address }) => {
    const page = await open(browser, address, phone);
    page.expected = ['422'];
    await page.goto('/jobs/1/lists');
    await sound(page, 'the lists of a job, none begun');
    await picture(page, 'thread-lists');
    await oneMain(page, 'the lists of a job');
    await page.goto('/jobs/1');
    await press(page, page.locator('#before').getByRole('button', { name: 'Hunt for light leaks as it is' }));
    await sound(page, 'a light-leak hunt');
    await picture(page, 'thread-leaks');
    await oneMain(page, 'a list');
    await press(page, main(page));
    const second = page.locator('li.panel').nth(1);
    await second.getByText('Found something').click();
    await second.getByLabel('What was found').fill('tarry foam at the hinge');
    await second.getByLabel(/^Photo/).setInputFiles({ name: 'foam.jpg', mimeType: 'image/jpeg',
        buffer: await page.screenshot({ type: 'jpeg' }) });
    await press(page, second.getByRole('button', { name: /^Note it/ }));
    await page.locator('li.done').getByText('tarry foam at the hinge').waitFor();
    assert.ok(await page.locator('li.done img.shot').isVisible());
    let list = await json(page, '/jobs/1/lists/1.json');
    assert.equal(list.answered, 2);
    assert.equal(list.list[1].answer, 'found');
    assert.equal(list.list[1].by, 'laptop');
    assert.ok(list.list[1].photo > 0);
    await press(page, page.getByRole('button', { name: 'Undo the last thing' }));
    list = await json(page, '/jobs/1/lists/1.json');
    assert.equal(list.answered, 1);
    assert.equal(list.list[1].photo, null);
    assert.equal((await json(page, '/jobs/1.json')).photos.length, 0); // one undo takes answer and photo back
    while (await page.locator('li.panel:not(.done)').count() > 0)
        await press(page, main(page));
    await page.getByText('Back to the job, it goes on there').waitFor();
    await oneMain(page, 'a finished list');
    await sound(page, 'a finished list');
    const paper = await page.request.get('/jobs/1/lists/1/paper.pdf');
    assert.equal((await paper.body()).subarray(0, 5).toString(), '%PDF-');
    const leaks = (await json(page, '/jobs/1/prove.json')).tests.find((one) => one.test === 'leaks');
    assert.equal(leaks.before.verdict, 'inside');
    page.quiet();
});

flow('lists of one\'s own', async ({ browser, address }) => {
    const page = await open(browser, address, phone);
    page.expected = ['422'];
    await page.goto('/lists');
    await sound(page, 'no list of one\'s own');
    await oneMain(page, 'lists of one\'s own');
    await page.getByLabel('Title').fill('Before the owner gets it');
    await page.getByLabel('Items, a line each').fill('   ');
    await press(page, page.getByRole('button', { name: 'Keep this list' }));
    await page.getByRole('alert').waitFor();
    await page.getByLabel('Items, a line each').fill('strap lugs\n<b>case</b>\n');
    await press(page, page.getByRole('button', { name: 'Keep this list' }));
    await sound(page, 'a list of one\'s own');
    await page.goto('/jobs/1/lists');
    await press(page, page.getByRole('button', { name: /Before the owner gets it/ }));
    assert.equal(await page.locator('li.panel').count(), 2);
    await page.getByRole('heading', { name: '<b>case</b>' }).waitFor();
    await press(page, page.getByRole('button', { name: 'Take this list out' }));
    page.quiet();
});

flow('apart, mended, together: the button always says what comes', async ({ browser, address }) => {
    const page = await open(browser, address, phone);
    await page.goto('/jobs/1');
    await press(page, page.locator('#next').getByRole('link', { name: 'Take it apart now' }));
    await page.getByLabel('What comes off').fill('Lens block and shutter');
    await press(page, page.getByRole('button', { name: 'Keep this step' }));
    await page.getByLabel('3', { exact: true }).check();
    await press(page, page.getByRole('button', { name: 'new tray 1' }));
    await page.goto('/jobs/1');
    assert.equal(await next(page).innerText(), 'Note the next step');
    await oneMain(page, 'a job apart');
    await press(page, page.locator('#next').getByRole('button', { name: 'The fault is mended' }));
    assert.equal(await next(page).innerText(), 'Put it together');
    await picture(page, 'thread-mended');
    await press(page, next(page));
    await page.locator('.panel.next').getByRole('button', { name: /^Done/ }).click();
    await page.getByText('every part accounted for').waitFor();
    await page.goto('/jobs/1');
    assert.equal(await next(page).innerText(), 'It is together');
    await press(page, next(page));
    assert.equal(await next(page).innerText(), 'Look it over by hand and eye');
    page.quiet();
});

flow('the proving sheet holds back until everything is settled', async ({ browser, address }) => {
    const page = await open(browser, address, phone);
    page.expected = ['409', '422'];
    await page.goto('/jobs/1/prove');
    await sound(page, 'the proving sheet');
    await picture(page, 'thread-prove');
    await oneMain(page, 'the proving sheet');
    const refused = await page.request.post('/jobs/1/stage', { form: { stage: 'proved',
        token: await page.locator('input[name=token]').first().inputValue() } });
    assert.equal(refused.status(), 409);
    await page.goto('/measure?job=1&when=after');
    await page.getByLabel('Readings at 1/60').fill('1/60');
    await page.getByLabel('Readings at 1/125').fill('1/121');
    await press(page, page.getByRole('button', { name: 'Show the verdict' }));
    await press(page, page.getByRole('button', { name: 'Keep as a test' }));
    await page.goto('/jobs/1/prove');
    const out = async (test, why) => {
        const section = page.locator(`#${test}`);
        await section.locator('summary').click();
        await section.getByLabel(/Why/).fill(why);
        await press(page, section.getByRole('button', { name: 'Leave it out' }));
    };
    await out('focus', 'lens never came off the helicoid');
    await out('finder', 'never touched');
    await out('meter', 'no cell in the house');
    await press(page, page.locator('#meter').getByRole('button', { name: /Owe it again/ }));
    await out('meter', 'left as it was');
    await press(page, page.locator('#leaks').getByRole('button', { name: /Hunt for light leaks/ }));
    while (await page.locator('li.panel:not(.done)').count() > 0)
        await press(page, main(page));
    await press(page, main(page));
    assert.equal(await next(page).innerText(), 'Plan the test film');
    page.quiet();
});

flow('the film is planned, printed, and speaks when it is back', async ({ browser, address }) => {
    const page = await open(browser, address, phone);
    page.expected = ['422'];
    await page.goto('/jobs/1');
    await press(page, next(page));
    await sound(page, 'planning the film');
    await picture(page, 'thread-film-plan');
    await oneMain(page, 'planning the film');
    await page.getByText(/step 1 "Lens block and shutter"/).first().waitFor();
    assert.equal(await page.getByLabel('Speed, row 1').inputValue(), '1/60'); // the marks that were tested
    await page.getByLabel('Frames on the roll').fill('2');
    await press(page, page.getByRole('button', { name: 'Plan the film' }));
    await page.getByRole('alert').getByText(/Frames/i).waitFor();
    await page.getByLabel('Frames on the roll').fill('24');
    await press(page, page.getByRole('button', { name: 'Plan the film' }));
    await sound(page, 'the film log');
    await picture(page, 'thread-film-log');
    await oneMain(page, 'the film log');
    const paper = await page.request.get('/jobs/1/film.pdf');
    assert.equal((await paper.body()).subarray(0, 5).toString(), '%PDF-');
    await page.goto('/jobs/1');
    assert.equal(await next(page).innerText(), 'Fill in the film log');
    await press(page, next(page));
    await press(page, main(page));
    const frame = page.locator('li.panel:not(.done)').first();
    await frame.getByText('Not right', { exact: true }).click();
    await frame.getByLabel('What it shows').fill('sharp behind the mark');
    await press(page, frame.getByRole('button', { name: /^Note it/ }));
    let proving = await json(page, '/jobs/1/prove.json');
    assert.equal(proving.tests.find((one) => one.test === 'focus').film_objects, true);
    assert.equal(proving.tests.find((one) => one.test === 'film').after.verdict, 'outside');
    await page.goto('/jobs/1/prove');
    await page.locator('#focus').getByText('sharp behind the mark').waitFor();
    await page.goto('/jobs/1/film');
    await press(page, page.getByRole('button', { name: 'Undo the last thing' }));
    while (await page.locator('li.panel:not(.done)').count() > 0)
        await press(page, main(page));
    proving = await json(page, '/jobs/1/prove.json');
    assert.equal(proving.settled, proving.owed);
    page.quiet();
});

flow('proved, reported, handed on', async ({ browser, address }) => {
    const page = await open(browser, address, phone);
    await page.goto('/jobs/1');
    assert.equal(await next(page).innerText(), 'It is proved');
    await press(page, next(page));
    assert.equal(await next(page).innerText(), 'Look through the report');
    await sound(page, 'a proved job');
    await picture(page, 'thread-proved');
    await press(page, next(page));
    await sound(page, 'the report');
    await picture(page, 'thread-report');
    await oneMain(page, 'the report');
    const report = await json(page, '/jobs/1/report.json');
    assert.equal(report.format, 'camerawright.report/1');
    assert.equal(report.proved.find((one) => one.test === 'Light meter').left_out, 'left as it was');
    assert.equal(report.before.result.speeds.length, 2);
    assert.equal(report.costs.length, 0); // only where they are wanted
    const levels = page.locator('#sheets').getByRole('table', { name: 'Light levels' });
    assert.equal(await levels.locator('tbody tr').count(), 3); // what was typed in, row by row
    await press(page, page.getByRole('button', { name: 'It is handed on' }));
    assert.equal(await next(page).innerText(), 'Take in the next one of its kind');
    await press(page, next(page));
    assert.equal(await page.getByLabel('Finder', { exact: true }).inputValue(), 'rangefinder');
    page.quiet();
});

flow('keys lead everywhere, and stay quiet while one types', async ({ browser, address }) => {
    const page = await open(browser, address, laptop);
    await page.goto('/jobs/1');
    await page.keyboard.press('Tab');
    assert.equal(await page.evaluate(() => document.activeElement.textContent), 'Skip to the page');
    await Promise.all([page.waitForURL('**/keys'), page.keyboard.press('?')]);
    await sound(page, 'the keys');
    await Promise.all([page.waitForURL(/\/search/), page.keyboard.press('/')]);
    await page.getByRole('searchbox').fill('');
    await page.getByRole('searchbox').pressSequentially('bm?');
    assert.equal(await page.getByRole('searchbox').inputValue(), 'bm?');
    await page.keyboard.press('Escape');
    await Promise.all([page.waitForURL(/127\.0\.0\.1:\d+\/$/), page.keyboard.press('b')]);
    await page.keyboard.press('n');
    assert.match(await page.evaluate(() => document.activeElement.textContent), /Take a camera in/);
    await page.goto('/jobs/1/film');
    await Promise.all([page.waitForURL('**/jobs/1/prove'), page.keyboard.press('p')]);
    await page.goto('/keys');
    await page.getByLabel(/Shortcuts are on/).uncheck();
    await page.keyboard.press('b');
    await page.waitForTimeout(200);
    assert.match(page.url(), /keys$/);
    page.quiet();
});

flow('a lamp is known once and fills the meter check', async ({ browser, address }) => {
    const page = await open(browser, address, phone);
    page.expected = ['422'];
    await page.goto('/levels');
    await sound(page, 'no reference level');
    await oneMain(page, 'reference levels');
    const note = async (name, value, u) => {
        await page.getByLabel('Lamp or target').fill(name);
        await page.locator('#in-value').fill(value);
        await page.getByLabel('Give or take').fill(u);
        await press(page, page.getByRole('button', { name: 'Keep this level' }));
    };
    await note('light box, second notch', 'bright', '0.1');
    await page.getByRole('alert').waitFor();
    await note('light box, second notch', '12', '0.1');
    await note('light box, first notch', '8,5', '0.2');
    await note('lamp at the window', '15', '');
    await sound(page, 'reference levels');
    await picture(page, 'thread-levels');
    await page.goto('/worksheets/meter-check?_job=1&_when=after');
    await press(page, page.getByRole('link', { name: 'Take my 3 levels in EV' }));
    assert.equal(await page.getByLabel('Reference, row 1').inputValue(), '8.5'); // dim to bright
    assert.equal(await page.getByLabel('Reference, row 3').inputValue(), '15');
    assert.match(await page.getByLabel(/How far the reference can be off/).inputValue(), /0\.2 EV/);
    await sound(page, 'the meter check with the lamps in it');
    page.quiet();
});

flow('dark, wide, and without scripts', async ({ browser, address }) => {
    const pages = ['/jobs/1', '/jobs/1/prove', '/jobs/1/lists', '/jobs/1/lists/1', '/jobs/1/film', '/lists', '/levels', '/jobs/1/report', '/keys'];
    const dark = await open(browser, address, { ...laptop, colorScheme: 'dark' });
    for (const at of pages) {
        await dark.goto(at);
        await sound(dark, `${at}, dark`);
    }
    await dark.goto('/jobs/1/prove');
    await picture(dark, 'thread-prove-dark');
    dark.quiet();
    const plain = await open(browser, address, { ...phone, javaScriptEnabled: false });
    await plain.goto('/jobs/1/lists');
    await press(plain, plain.getByRole('button', { name: /Begin: Before a cover closes/ }));
    await press(plain, main(plain));
    assert.equal(await plain.locator('li.done').count(), 1);
});

await runFlows(flows);
