// Small zip archives and spreadsheets for the tests (PKWARE's APPNOTE 4.3.7, 4.3.12, 4.3.16; from memory).
import { deflateRawSync } from 'node:zlib';

const TABLE = Array.from({ length: 256 }, (_, n) => {
  let c = n;
  for (let k = 0; k < 8; k++) c = c & 1 ? 0xedb88320 ^ (c >>> 1) : c >>> 1;
  return c;
});

function sum(bytes) {
  let c = 0xffffffff;
  for (const b of bytes) c = TABLE[(c ^ b) & 255] ^ (c >>> 8);
  return (c ^ 0xffffffff) >>> 0;
}

/** An archive of `[name, text or bytes]`. */
export function zip(entries) {
  const [files, listed] = [[], []];
  let at = 0;
  for (const [name, content] of entries) {
    const [title, bytes] = [Buffer.from(name), Buffer.from(content)];
    const packed = deflateRawSync(bytes);
    // Version 2.0, no flags, deflate, no time; then sum, sizes, and lengths of names.
    const common = Buffer.alloc(26);
    common.writeUInt16LE(20, 0);
    common.writeUInt16LE(8, 4);
    common.writeUInt16LE(0x21, 8);
    common.writeUInt32LE(sum(bytes), 10);
    common.writeUInt32LE(packed.length, 14);
    common.writeUInt32LE(bytes.length, 18);
    common.writeUInt16LE(title.length, 22);
    const file = Buffer.concat([Buffer.from('PK\x03\x04'), common, title, packed]);
    const place = Buffer.alloc(14);
    place.writeUInt32LE(at, 10);
    files.push(file);
    listed.push(Buffer.concat([Buffer.from('PK\x01\x02\x14\x00'), common, place, title]));
    at += file.length;
  }
  const list = Buffer.concat(listed);
  const end = Buffer.alloc(18);
  end.writeUInt16LE(entries.length, 4);
  end.writeUInt16LE(entries.length, 6);
  end.writeUInt32LE(list.length, 8);
  end.writeUInt32LE(at, 12);
  return Buffer.concat([...files, list, Buffer.from('PK\x05\x06'), end]);
}

/** A spreadsheet of `[sheet, rows of cells parted by commas]` (OpenDocument 1.3 part 3, 9.1; from memory). */
export function ods(sheets) {
  const cell = (text) => (text !== '' && Number.isFinite(Number(text))
    ? `<table:table-cell office:value-type="float" office:value="${text}"/>`
    : `<table:table-cell office:value-type="string"><text:p>${text}</text:p></table:table-cell>`);
  const row = (line) => `<table:table-row>${line.split(',').map(cell).join('')}</table:table-row>`;
  const sheet = ([name, text]) => `<table:table table:name="${name}">${text.trim().split('\n').map(row).join('')}</table:table>`;
  const content = `<?xml version="1.0" encoding="UTF-8"?><office:document-content><office:body><office:spreadsheet>${sheets.map(sheet).join('')}</office:spreadsheet></office:body></office:document-content>`;
  return zip([['mimetype', 'application/vnd.oasis.opendocument.spreadsheet'], ['content.xml', content]]);
}
