// SPDX-License-Identifier: GPL-3.0-or-later
// The main job read in German, on a phone: no long word is wider than the screen, findings and next actions are German, and
// what was typed stays as it was. Run by tests/browser/run.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { laptop, open, phone, picture, press, runFlows, sound } from '../bench.mjs';

const work = process.env.CW_WORK;
const run = (...args) => execFileSync(process.env.CW_PROGRAM, [...args, '--bench', `${work}/bench`], { encoding: 'utf8' });

function fillBench() {
    run('job', 'new', '--camera', 'Ellory Reflex', '--shutter', 'focal-plane', '--complaint', 'Camera from the attic');
    for (const when of ['before', 'after'])
        run('shutter', `${work}/ellory-reflex-${when}.wav`, '--shutter', 'focal-plane', '--sensors-mm', '4,18,32', '--contact-channel', '4',
            '--marked-list', '1,1/4,1/15,1/60,1/125,1/250,1/500,1/1000', '--shots-per-speed', '3', '--job', '1', '--when', when);
    run('step', 'add', '1', 'Top cover', '--came-off', 'cover', '--parts', '3 screws M1.7 into tray 2');
}

async function inGerman(browser, address, device) {
    const page = await open(browser, address, device);
    await page.context().addCookies([{ name: 'cw_reader', value: 'de.auto.auto.day', url: address }]);
    return page;
}

async function seen(page, path, name, words) {
    await page.goto(path);
    await page.getByText(words).first().waitFor();
    await sound(page, `${path} in German`);
    await picture(page, `german-${name}`);
}

const pages = [
    ['/', 'bench', /Werkbank/],
    ['/jobs/new', 'taking-in', /Beanstandung|Was ihr fehlt/],
    ['/jobs/1', 'job', /Als Nächstes|Geprüft/],
    ['/tests/1', 'test', /Die Serviceunterlagen der Kamera gehen vor/],
    ['/jobs/1/prove', 'proving', /Prüfblatt/],
    ['/jobs/1/report', 'report', /Geprüft, Prüfung für Prüfung/],
    ['/jobs/1/film', 'film', /Testfilm/],
    ['/measure', 'measure', /Eintippen, was der Zeitmesser zeigt/],
    ['/tools', 'rack', /Werkzeugbrett/],
    ['/live', 'live', /Live messen/],
    ['/settings', 'settings', /Sprache/],
];

await runFlows([
    {
        name: 'the main job in German, on a phone and the laptop',
        run: async ({ browser, address }) => {
            fillBench();
            for (const [device, width] of [[phone, 'phone'], [laptop, 'laptop']]) {
                const page = await inGerman(browser, address, device);
                for (const [path, name, words] of pages)
                    await seen(page, path, `${name}-${width}`, words);
                await page.goto('/jobs/1');
                await page.getByText('Camera from the attic').first().waitFor(); // typed: never translated, though "Camera" is
                page.quiet();
            }
        },
    },
    {
        name: 'a refusal in German keeps what was typed',
        run: async ({ browser, address }) => {
            const page = await inGerman(browser, address, phone);
            page.expected = ['422'];
            await page.goto('/measure');
            const field = page.getByLabel(/1\/60/).first();
            await field.fill('siebzehn');
            await press(page, page.locator('main button[type=submit], main form button.main').first());
            await page.getByRole('alert').waitFor();
            await picture(page, 'german-refusal-phone');
            assert.equal(await page.getByLabel(/1\/60/).first().inputValue(), 'siebzehn');
            page.quiet();
        },
    },
]);
