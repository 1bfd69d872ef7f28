// The messages of ISO 15118-2:2014, in the notation that notation.ts reads; their types stand in
// iso15118-2-types.ts. Written from memory; checked by tests/wire/exi/vectors.test.ts.
export const ISO_15118_2 = `
ns MsgHeader
type MessageHeaderType
 SessionID sessionIDType
 Notification NotificationType ?
 ref ds:Signature ?
ns MsgBody
type BodyBaseType abstract
element BodyElement BodyBaseType abstract
msg SessionSetupReq
 EVCCID evccIDType
msg SessionSetupRes
 ResponseCode responseCodeType
 EVSEID evseIDType
 EVSETimeStamp long ?
msg ServiceDiscoveryReq
 ServiceScope serviceScopeType ?
 ServiceCategory serviceCategoryType ?
msg ServiceDiscoveryRes
 ResponseCode responseCodeType
 PaymentOptionList PaymentOptionListType
 ChargeService ChargeServiceType
 ServiceList ServiceListType ?
msg ServiceDetailReq
 ServiceID serviceIDType
msg ServiceDetailRes
 ResponseCode responseCodeType
 ServiceID serviceIDType
 ServiceParameterList ServiceParameterListType ?
msg PaymentServiceSelectionReq
 SelectedPaymentOption paymentOptionType
 SelectedServiceList SelectedServiceListType
msg PaymentServiceSelectionRes
 ResponseCode responseCodeType
msg PaymentDetailsReq
 eMAID eMAIDType
 ContractSignatureCertChain CertificateChainType
msg PaymentDetailsRes
 ResponseCode responseCodeType
 GenChallenge genChallengeType
 EVSETimeStamp long
msg AuthorizationReq
 @Id ID ?
 GenChallenge genChallengeType ?
msg AuthorizationRes
 ResponseCode responseCodeType
 EVSEProcessing EVSEProcessingType
msg ChargeParameterDiscoveryReq
 MaxEntriesSAScheduleTuple unsignedShort ?
 RequestedEnergyTransferMode EnergyTransferModeType
 ref EVChargeParameter
msg ChargeParameterDiscoveryRes
 ResponseCode responseCodeType
 EVSEProcessing EVSEProcessingType
 ref SASchedules ?
 ref EVSEChargeParameter
msg PowerDeliveryReq
 ChargeProgress chargeProgressType
 SAScheduleTupleID SAIDType
 ChargingProfile ChargingProfileType ?
 ref EVPowerDeliveryParameter ?
msg PowerDeliveryRes
 ResponseCode responseCodeType
 ref EVSEStatus
msg ChargingStatusReq
msg ChargingStatusRes
 ResponseCode responseCodeType
 EVSEID evseIDType
 SAScheduleTupleID SAIDType
 EVSEMaxCurrent PhysicalValueType ?
 MeterInfo MeterInfoType ?
 ReceiptRequired boolean ?
 AC_EVSEStatus AC_EVSEStatusType
msg MeteringReceiptReq
 @Id ID ?
 SessionID sessionIDType
 SAScheduleTupleID SAIDType ?
 MeterInfo MeterInfoType
msg MeteringReceiptRes
 ResponseCode responseCodeType
 ref EVSEStatus
msg SessionStopReq
 ChargingSession chargingSessionType
msg SessionStopRes
 ResponseCode responseCodeType
msg CertificateUpdateReq
 @Id ID
 ContractSignatureCertChain CertificateChainType
 eMAID eMAIDType
 ListOfRootCertificateIDs ListOfRootCertificateIDsType
msg CertificateUpdateRes
 ResponseCode responseCodeType
 SAProvisioningCertificateChain CertificateChainType
 ContractSignatureCertChain CertificateChainType
 ContractSignatureEncryptedPrivateKey ContractSignatureEncryptedPrivateKeyType
 DHpublickey DiffieHellmanPublickeyType
 eMAID EMAIDType
 RetryCounter short ?
msg CertificateInstallationReq
 @Id ID
 OEMProvisioningCert certificateType
 ListOfRootCertificateIDs ListOfRootCertificateIDsType
msg CertificateInstallationRes
 ResponseCode responseCodeType
 SAProvisioningCertificateChain CertificateChainType
 ContractSignatureCertChain CertificateChainType
 ContractSignatureEncryptedPrivateKey ContractSignatureEncryptedPrivateKeyType
 DHpublickey DiffieHellmanPublickeyType
 eMAID EMAIDType
msg CableCheckReq
 DC_EVStatus DC_EVStatusType
msg CableCheckRes
 ResponseCode responseCodeType
 DC_EVSEStatus DC_EVSEStatusType
 EVSEProcessing EVSEProcessingType
msg PreChargeReq
 DC_EVStatus DC_EVStatusType
 EVTargetVoltage PhysicalValueType
 EVTargetCurrent PhysicalValueType
msg PreChargeRes
 ResponseCode responseCodeType
 DC_EVSEStatus DC_EVSEStatusType
 EVSEPresentVoltage PhysicalValueType
msg CurrentDemandReq
 DC_EVStatus DC_EVStatusType
 EVTargetCurrent PhysicalValueType
 EVMaximumVoltageLimit PhysicalValueType ?
 EVMaximumCurrentLimit PhysicalValueType ?
 EVMaximumPowerLimit PhysicalValueType ?
 BulkChargingComplete boolean ?
 ChargingComplete boolean
 RemainingTimeToFullSoC PhysicalValueType ?
 RemainingTimeToBulkSoC PhysicalValueType ?
 EVTargetVoltage PhysicalValueType
msg CurrentDemandRes
 ResponseCode responseCodeType
 DC_EVSEStatus DC_EVSEStatusType
 EVSEPresentVoltage PhysicalValueType
 EVSEPresentCurrent PhysicalValueType
 EVSECurrentLimitAchieved boolean
 EVSEVoltageLimitAchieved boolean
 EVSEPowerLimitAchieved boolean
 EVSEMaximumVoltageLimit PhysicalValueType ?
 EVSEMaximumCurrentLimit PhysicalValueType ?
 EVSEMaximumPowerLimit PhysicalValueType ?
 EVSEID evseIDType
 SAScheduleTupleID SAIDType
 MeterInfo MeterInfoType ?
 ReceiptRequired boolean ?
msg WeldingDetectionReq
 DC_EVStatus DC_EVStatusType
msg WeldingDetectionRes
 ResponseCode responseCodeType
 DC_EVSEStatus DC_EVSEStatusType
 EVSEPresentVoltage PhysicalValueType
ns MsgDef
document V2G_Message
element V2G_Message
 Header MessageHeaderType
 Body V2G_BodyType
type V2G_BodyType
 ref BodyElement ?
`;
