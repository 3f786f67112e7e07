// SPDX-License-Identifier: GPL-3.0-or-later
// Language, decimal sign, lengths and dates, chosen on one device and not on another. Run by tests/browser/run.
import assert from 'node:assert/strict';
import { laptop, open, phone, picture, press, runFlows, sound } from '../bench.mjs';

const flows = [];
const flow = (name, run) => flows.push({ name, run });

flow('a device chooses how its pages are written', async ({ browser, address }) => {
    const page = await open(browser, address, phone);
    await page.goto('/');
    await press(page, page.getByRole('link', { name: 'Language, units, dates' }));
    await sound(page, 'the settings');
    await picture(page, 'settings-phone');
    await page.getByLabel('Deutsch (in Teilen)').check();
    await page.getByLabel('Comma: 12,35').check();
    await page.getByLabel('Inches').check();
    await page.getByLabel('25.11.2026').check();
    await press(page, page.getByRole('button', { name: 'Keep' }));
    await page.getByText('Auf diesem Gerät gemerkt.').waitFor();
    assert.equal(await page.locator('html').getAttribute('lang'), 'de');
    await sound(page, 'the settings in another language');
    await page.goto('/worksheets/flat-wrench?span=23,4&slot-width=1,2&slot-depth=0,8&reach=6&plate=2');
    await page.getByText(/\d,\d+ in$/).first().waitFor();
    await picture(page, 'wrench-in-german-phone');
    const twin = await page.request.get('/worksheets/flat-wrench.json?span=23,4&slot-width=1,2&slot-depth=0,8&reach=6&plate=2');
    const span = (await twin.json()).inputs.span;
    assert.ok(Math.abs(span.value - 23.4) < 1e-9 && span.unit === 'mm', `JSON stays as it is, not ${JSON.stringify(span)}`);
    page.quiet();

    const other = await open(browser, address, laptop);
    await other.goto('/settings');
    await other.getByRole('heading', { name: 'Language, units, dates' }).waitFor();
    await sound(other, 'the settings on the laptop');
    await picture(other, 'settings-laptop');
    other.quiet();
});

flow('what cannot be chosen is refused', async ({ browser, address }) => {
    const page = await open(browser, address, phone);
    page.expected = ['422'];
    await page.goto('/settings');
    await page.getByLabel('Comma: 12,35').evaluate((radio) => { radio.value = 'semicolon'; radio.checked = true; });
    await press(page, page.getByRole('button', { name: 'Keep' }));
    await page.getByRole('alert').getByText('"semicolon" cannot be chosen').waitFor();
    page.quiet();
});

await runFlows(flows);
