import type { ServedIdentity } from './bootstrap-registers.js';
import type { Feature } from './features.js';
import { simulationCategory } from './simulation-features.js';

/**
 * The GenICam description of a served camera: an XML file that tells any client the features and where they lie.
 *
 * Model    one node a feature with its register beside it; categories below Root in the order in which they come
 * Source   GenApi schema 1.1 as read by Aravis 0.8; feature names of SFNC 2.7.1
 * Trust    read by Aravis; no other GenApi implementation was tried.
 */
export function cameraDescription({
  identity,
  features,
  addressOf,
}: {
  identity: ServedIdentity;
  features: readonly Feature[];
  addressOf: (name: string) => number;
}): string {
  const categories = [...new Set(features.map(({ category }) => category))];
  const members = (category: string) =>
    features.filter((feature) => feature.category === category && feature.visibility !== 'Invisible');
  return [
    '<?xml version="1.0" encoding="UTF-8"?>',
    `<RegisterDescription ModelName="${xmlName(identity.modelName)}" VendorName="${xmlName(identity.vendorName)}" ToolTip="${escaped(identity.manufacturerInfo)}" StandardNameSpace="GEV" SchemaMajorVersion="1" SchemaMinorVersion="1" SchemaSubMinorVersion="0" MajorVersion="1" MinorVersion="0" SubMinorVersion="0" ProductGuid="6F63A7C4-0B0B-4E2A-9F2C-1B6C7C1F5A01" VersionGuid="6F63A7C4-0B0B-4E2A-9F2C-1B6C7C1F5A02" xmlns="http://www.genicam.org/GenApi/Version_1_1" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance" xsi:schemaLocation="http://www.genicam.org/GenApi/Version_1_1 http://www.genicam.org/GenApi/GenApiSchema_Version_1_1.xsd">`,
    '<Category Name="Root" NameSpace="Standard">',
    ...categories.filter((category) => members(category).length > 0).map((category) => tag('pFeature', category)),
    '</Category>',
    ...categories.flatMap((category) => [
      `<Category Name="${category}" NameSpace="${category === simulationCategory ? 'Custom' : 'Standard'}">`,
      ...members(category).map(({ name }) => tag('pFeature', name)),
      '</Category>',
    ]),
    ...features.flatMap((feature) => nodesOf(feature, addressOf)),
    '<Port Name="Device" NameSpace="Standard"><ToolTip>Registers of the camera</ToolTip></Port>',
    '</RegisterDescription>',
    '',
  ].join('\n');
}

function nodesOf(feature: Feature, addressOf: (name: string) => number): string[] {
  const { name } = feature;
  const own = name + registerEnding;
  const head = [
    tag('ToolTip', feature.help),
    tag('Visibility', feature.visibility ?? 'Beginner'),
    ...(feature.lockedBy ? [tag('pIsLocked', feature.lockedBy)] : []),
  ];
  const selects = (feature.selects ?? []).map((selected) => tag('pSelected', selected));
  const nameSpace = feature.category === simulationCategory ? 'Custom' : 'Standard';
  const node = (kind: string, parts: string[]) => [
    `<${kind} Name="${name}" NameSpace="${nameSpace}">`,
    ...head,
    ...parts,
    `</${kind}>`,
  ];
  const register = (kind: string, access: string, parts: string[], byteCount: number, address = addressOf(name)) => [
    `<${kind} Name="${own}">`,
    tag('Visibility', 'Invisible'),
    tag('Address', `0x${address.toString(16)}`),
    tag('Length', byteCount),
    tag('AccessMode', access),
    tag('pPort', 'Device'),
    tag('Cachable', 'NoCache'),
    ...parts,
    `</${kind}>`,
  ];
  const whole = [tag('Sign', 'Unsigned'), tag('Endianess', 'BigEndian')];
  switch (feature.kind) {
    case 'string':
      return [
        `<StringReg Name="${name}" NameSpace="${nameSpace}">`,
        ...head,
        tag('Address', `0x${addressOf(name).toString(16)}`),
        tag('Length', 64),
        tag('AccessMode', 'RO'),
        tag('pPort', 'Device'),
        tag('Cachable', 'NoCache'),
        '</StringReg>',
      ];
    case 'command':
      return [...node('Command', [tag('pValue', own), tag('CommandValue', 1)]), ...register('IntReg', 'RW', whole, 4)];
    case 'switch':
      return [
        ...node('Boolean', [tag('pValue', own), tag('OnValue', 1), tag('OffValue', 0)]),
        ...register('IntReg', feature.access, whole, 4),
      ];
    case 'enumeration':
      return [
        ...node('Enumeration', [
          ...Object.entries(feature.entries).map(
            ([entry, value]) =>
              `<EnumEntry Name="${entry}" NameSpace="${nameSpace}">${tag('Value', value)}</EnumEntry>`,
          ),
          tag('pValue', own),
          ...selects,
        ]),
        ...register('IntReg', feature.access, whole, 4),
      ];
    case 'integer':
    case 'float': {
      const isFloat = feature.kind === 'float';
      const bound = `${name}Bound`;
      return [
        ...node(isFloat ? 'Float' : 'Integer', [
          tag('pValue', own),
          tag('Min', feature.min),
          feature.maxLess ? tag('pMax', bound) : tag('Max', feature.max),
          ...(feature.increment ? [tag('Inc', feature.increment)] : []),
          ...(feature.unit ? [tag('Unit', feature.unit)] : []),
          ...selects,
        ]),
        ...(feature.maxLess
          ? [
              `<IntSwissKnife Name="${bound}">`,
              tag('Visibility', 'Invisible'),
              `<pVariable Name="A">${feature.maxLess[0]}</pVariable>`,
              `<pVariable Name="B">${feature.maxLess[1]}</pVariable>`,
              tag('Formula', 'A - B'),
              '</IntSwissKnife>',
            ]
          : []),
        ...(isFloat
          ? register('FloatReg', feature.access, [tag('Endianess', 'BigEndian')], 8)
          : register('IntReg', feature.access, whole, 4)),
      ];
    }
    case 'standard': {
      const { access, address, byteCount, bits, unit, commandValue } = feature;
      const limits = bits ? [tag('LSB', bits[1]), tag('MSB', bits[0])] : [];
      const kind = bits ? 'MaskedIntReg' : 'IntReg';
      const isCommand = commandValue !== undefined;
      return [
        ...node(isCommand ? 'Command' : 'Integer', [
          tag('pValue', own),
          ...(isCommand ? [tag('CommandValue', commandValue)] : []),
          ...(unit ? [tag('Unit', unit)] : []),
        ]),
        ...register(kind, access, [...limits, ...whole], byteCount, address),
      ];
    }
  }
}

const registerEnding = 'Register';

const tag = (name: string, content: string | number): string => `<${name}>${escaped(String(content))}</${name}>`;

const escaped = (text: string): string =>
  text.replace(/&/g, '&amp;').replace(/</g, '&lt;').replace(/>/g, '&gt;').replace(/"/g, '&quot;');

/** The schema allows letters, digits and underscores in these two names. */
const xmlName = (text: string): string => text.replace(/[^A-Za-z0-9_]+/g, '_');
