// SPDX-License-Identifier: GPL-3.0-or-later
// The rack: what hangs there answers first, what a worksheet works out can hang there, and a part can be made by a result.
import assert from 'node:assert/strict';
import { laptop, open, phone, picture, press, runFlows, sound } from '../bench.mjs';

const flows = [];
const flow = (name, run) => flows.push({ name, run });

const wrench = '/worksheets/flat-wrench?span=23.4mm&slot-width=1.2mm&slot-depth=0.8mm&reach=4mm&plate=2mm';

flow('a wrench worked out hangs in the rack with its drawing', async ({ browser, address }) => {
    const page = await open(browser, address, phone);
    await page.goto('/jobs/new');
    await page.getByLabel('Camera').fill('Tarnbrook 35');
    await press(page, page.getByRole('button', { name: 'Take it in' }));
    await page.goto(wrench);
    assert.equal(await page.getByText('In the rack for these sizes').count(), 0);
    await page.getByText('Keep as a tool I made').click();
    await page.locator('#in-tool-name').fill('rear ring wrench');
    await page.locator('#in-tool-place').fill('hook 3');
    await page.locator('#in-tool-job').selectOption({ index: 1 });
    await picture(page, 'keep-tool-phone');
    await press(page, page.getByRole('button', { name: 'Hang it in the rack' }));
    await page.getByRole('heading', { name: 'rear ring wrench' }).waitFor();
    await page.getByText('span 23.4 mm, tip 1.15 mm').waitFor();
    assert.ok(await page.getByAltText('its drawing').evaluate((image) => image.complete && image.naturalWidth > 100));
    await page.getByRole('link', { name: 'The job it was made for' }).waitFor();
    await sound(page, 'a made tool');
    await picture(page, 'made-tool-phone');
    const pdf = await page.request.get(await page.getByRole('link', { name: 'PDF, true size' }).getAttribute('href'));
    assert.equal((await pdf.body()).subarray(0, 4).toString(), '%PDF');
    await press(page, page.getByRole('link', { name: 'Make it again with other sizes' }));
    assert.equal(await page.getByLabel('Distance between slot middles').inputValue(), '23.4 mm');
    await page.getByText('In the rack for these sizes').waitFor();
    await page.getByText(/Yes: .rear ring wrench. \(hook 3\), fits/).waitFor();
    await sound(page, 'a wrench sheet with the rack on top');
    await picture(page, 'sheet-rack-phone');
    page.quiet();
});

flow('the rack answers first', async ({ browser, address }) => {
    const page = await open(browser, address, laptop);
    page.expected = ['422'];
    await page.goto('/tools/new');
    await page.getByLabel('Name').fill('old ruler');
    await page.getByLabel('Kind').fill('adjustable wrench');
    await page.getByLabel('Span mm', { exact: false }).first().fill('12');
    await page.getByLabel('Span at most').fill('45');
    await page.getByLabel('Tip thickness').fill('0.6');
    await sound(page, 'a new tool');
    await press(page, page.getByRole('button', { name: 'Hang it up' }));
    await page.goto('/tools');
    await page.getByLabel('Span, or diameter').fill('23.4 s');
    await press(page, page.getByRole('button', { name: 'Have I something?' }));
    await page.getByRole('alert').getByText('is not a length').waitFor();
    await page.getByLabel('Span, or diameter').fill('23,4');
    await page.getByLabel('Slot width').fill('1.2');
    await press(page, page.getByRole('button', { name: 'Have I something?' }));
    const answer = page.getByRole('region', { name: 'Answer' });
    await answer.getByText(/Yes: .rear ring wrench./).waitFor();
    assert.match(await answer.getByRole('listitem').nth(1).innerText(), /old ruler.*slip and chew/s);
    assert.ok((await answer.boundingBox()).y < 400, 'the answer is not first');
    await sound(page, 'the answer of the rack');
    await picture(page, 'rack-laptop');
    const twin = await (await page.request.get('/tools.json?span=40&slot=1.2')).json();
    assert.match(twin.find.answer, /^In a pinch: "old ruler"/);
    await page.setViewportSize({ width: 390, height: 844 });
    await sound(page, 'the answer on a phone');
    await picture(page, 'rack-phone');
    page.quiet();
});

flow('a part says how it is to be made', async ({ browser, address }) => {
    const page = await open(browser, address, phone);
    await page.goto('/jobs/1/add');
    await page.getByLabel('What comes off').fill('Winding lever');
    await press(page, page.getByRole('button', { name: 'Keep this step' }));
    await page.getByText('Say it in words').click();
    await page.getByLabel('Parts, as you would say it').fill('pin into tray 1');
    await press(page, page.getByRole('button', { name: 'Keep the parts' }));
    await page.goto('/parts/1');
    await page.getByText('Make a new one').click();
    await press(page, page.getByRole('link', { name: 'A pin: what to turn and ream' }));
    await press(page, page.getByRole('link', { name: 'Show a worked example' }));
    await page.getByRole('heading', { name: /For the part: pin/ }).waitFor();
    await picture(page, 'for-a-part-phone');
    await press(page, page.getByRole('button', { name: 'This is how it is to be made' }));
    assert.match(page.url(), /\/parts\/1$/);
    assert.ok(await page.getByLabel('to make').isChecked());
    assert.match(await page.getByLabel('Notes').inputValue(), /To make \(worksheet result 1\): Limits and fits/);
    await sound(page, 'a part to be made');
    page.quiet();
});

await runFlows(flows);
